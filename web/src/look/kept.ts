/** Boxes to type in. */
import type { Action } from "svelte/action";

type Box = HTMLInputElement | HTMLTextAreaElement;

/** A box shows what is saved, and keeps what is being typed in it until that is done with: an answer that comes
    meanwhile, to an edit made before, must not take the letters away. */
export const kept: Action<Box, string> = (box, shown) => {
  let typing = false;
  const show = () => {
    if (!typing && box.value !== shown) box.value = shown;
  };
  const ways: [string, () => void][] = [
    ["input", () => (typing = true)],
    ["change", () => (typing = false)],
    // left without a change: what was typed is what had been there before
    ["blur", () => typing && ((typing = false), show())],
  ];
  for (const [event, heard] of ways) box.addEventListener(event, heard);
  show();
  return {
    update(next) {
      shown = next;
      show();
    },
    destroy() {
      for (const [event, heard] of ways) box.removeEventListener(event, heard);
    },
  };
};
