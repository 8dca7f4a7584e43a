/** The views by their addresses, each loaded when it is first looked at. */
import type { Component } from "svelte";

export const names = ["plan", "finder", "light", "day", "picture", "kit", "card"] as const;
export type ViewName = (typeof names)[number];

interface View {
  name: string;
  load: () => Promise<{ default: Component }>;
}

export const views: Record<ViewName, View> = {
  plan: { name: "Plan", load: () => import("../plan/PlanView.svelte") },
  finder: { name: "Finder", load: () => import("../finder/FinderView.svelte") },
  light: { name: "Light", load: () => import("../light/LightView.svelte") },
  day: { name: "Day", load: () => import("../day/DayView.svelte") },
  picture: { name: "Picture", load: () => import("../picture/PictureView.svelte") },
  kit: { name: "Kit", load: () => import("../kit/KitView.svelte") },
  card: { name: "Set card", load: () => import("../card/CardView.svelte") },
};

/** The view that an address such as "#light" names; the plan for any other. */
export function viewOfAddress(hash: string): ViewName {
  const wanted = hash.replace(/^#\/?/, "").split("/")[0];
  return names.find((name) => name === wanted) ?? "plan";
}
