/** What this browser has done and can take back, without limit. The server gives the edits that take others back. */
import type { Edit } from "../api/types";

export interface Step {
  label: string;
  edits: Edit[];
}

export class History {
  private done = $state.raw<Step[]>([]);
  private undone = $state.raw<Step[]>([]);

  get canUndo(): boolean {
    return this.done.length > 0;
  }

  get canRedo(): boolean {
    return this.undone.length > 0;
  }

  get lastDone(): string {
    return this.done.at(-1)?.label ?? "";
  }

  get lastUndone(): string {
    return this.undone.at(-1)?.label ?? "";
  }

  takeDone(): Step | undefined {
    const last = this.done.at(-1);
    this.done = this.done.slice(0, -1);
    return last;
  }

  takeUndone(): Step | undefined {
    const last = this.undone.at(-1);
    this.undone = this.undone.slice(0, -1);
    return last;
  }

  /** Edits were saved and `inverse` takes them back; a new deed makes what was undone unreachable. */
  keep(label: string, inverse: Edit[], how: "do" | "undo" | "redo"): void {
    const step = { label, edits: inverse };
    if (how === "undo") this.undone = [...this.undone, step];
    else this.done = [...this.done, step];
    if (how === "do") this.undone = [];
  }

  /** An undo or redo was refused: it stays to be tried again. */
  putBack(label: string, edits: Edit[], how: "undo" | "redo"): void {
    const step = { label, edits };
    if (how === "undo") this.done = [...this.done, step];
    else this.undone = [...this.undone, step];
  }
}
