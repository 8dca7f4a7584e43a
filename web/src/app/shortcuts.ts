/** Keys that hold on every view. */
import { desk } from "./state.svelte";

const typing = (target: EventTarget | null) =>
  target instanceof HTMLElement && target.matches("input:not([type=range], [type=checkbox]), textarea, select");

export function shortcut(event: KeyboardEvent): void {
  // with nothing in hand it puts away what is chosen, and the grips that lie over the sheet with it
  if (event.key === "Escape" && event.target === document.body) desk.select(null);
  if (!(event.ctrlKey || event.metaKey) || event.altKey || typing(event.target)) return;
  const key = event.key.toLowerCase();
  if (key === "z" && !event.shiftKey) {
    event.preventDefault();
    void desk.undo();
  } else if (key === "y" || (key === "z" && event.shiftKey)) {
    event.preventDefault();
    void desk.redo();
  }
}
