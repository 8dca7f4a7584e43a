/**
 * What every view shares: the shoot as saved, the chosen shot, what is selected, answers that follow the hand, and the
 * ways to change the shoot. A view takes nothing else.
 */
import { Live, Refused, Unanswered, getFocus, getLight, getMe, getShoot, keepFile, listen, meterLight, postEdits, stopMetering } from "../api/client";
import type {
  Conflict, DeskEvent, DrawnShot, Edit, Fault, Focus, LightAnswer, LiveAnswer, Refusal, ShootState, Step,
} from "../api/types";
import { History } from "./history.svelte";
import { readChoice, writeChoice } from "./choices";
import { latest } from "./latest";

export type Kind =
  | "person" | "mark" | "camera" | "light" | "block" | "opening" | "room" | "mesh" | "shot" | "kit" | "place";
export interface Selection {
  kind: Kind;
  name: string;
}
export type Units = "metric" | "imperial";
export type Theme = "auto" | "light" | "dark";

/** Edits, or how they are made from what has been saved by then: for those that rest on what else the file says. */
export type Edits = Edit[] | (() => Edit[]);
type Allowed = (faults: readonly Fault[]) => boolean;
const never: Allowed = () => false;
/** Whatever faults there are. */
export const always: Allowed = () => true;

/** A clash with what was saved since, and what to do about it. */
export interface Clash {
  label: string;
  conflicts: Conflict[];
  mine: () => void;
  theirs: () => void;
}

class Desk {
  shoot = $state.raw<ShootState | null>(null);
  shot = $state("");
  units = $state<Units>("metric");
  theme = $state<Theme>(readChoice("theme", ["auto", "light", "dark"]));
  connected = $state(true);
  /** The server no longer knows this browser. */
  locked = $state(false);
  mayEdit = $state(true);
  /** This is the browser of whoever runs the desk, which alone may bring files in. */
  isHost = $state(true);
  live = $state.raw<Record<string, Focus>>({});
  refusal = $state.raw<Record<string, Refusal>>({});
  light = $state.raw<Record<string, LightAnswer>>({});
  selection = $state.raw<Selection | null>(null);
  /** The minute of the day that sun and patches are drawn for; null: that of the chosen shot. */
  minute = $state<number | null>(null);
  message = $state("");
  clash = $state.raw<Clash | null>(null);
  faults = $state.raw<Fault[]>([]);
  saving = $state(0);
  /** What is wrong with what is being dragged, in words; empty if nothing is. */
  dragFault = $state("");
  tookMs = $state(0);

  private history = new History();
  /** Newest revision that this page has made; the shoot shown may be behind while more is being saved. */
  private head = 0;
  private line: Promise<unknown> = Promise.resolve();
  private socket = new Live((answer) => this.follow(answer));
  private listeners = new Set<(event: DeskEvent) => void>();

  /** The chosen shot as it is drawn. */
  get drawnShot(): DrawnShot | null {
    const shots = this.shoot?.drawn?.shots ?? [];
    return shots.find((shot) => shot.id === this.shot) ?? shots[0] ?? null;
  }

  get focus(): Focus | null {
    return this.live[this.shot] ?? null;
  }

  get canUndo(): boolean {
    return this.history.canUndo;
  }

  get canRedo(): boolean {
    return this.history.canRedo;
  }

  /** What undo would take back, in words. */
  get undoLabel(): string {
    return this.history.lastDone;
  }

  get redoLabel(): string {
    return this.history.lastUndone;
  }

  /** Path of a shot's table in the file. */
  shotPath(id: string = this.shot): Step[] {
    const tables = (this.shoot?.file["shots"] ?? []) as { id?: string | number }[];
    if (tables.some((table) => String(table.id) === id)) return ["shots", { is: id }];
    return ["shots", Math.max(0, (this.shoot?.drawn?.shots ?? []).findIndex((shot) => shot.id === id))];
  }

  /** Say something to whoever looks, also through a screen reader. */
  say(message: string): void {
    this.message = "";
    queueMicrotask(() => (this.message = message));
  }

  async start(): Promise<void> {
    await this.refresh();
    void getMe().then((me) => ((this.isHost = me.host), (this.mayEdit = me.host || me.allow_edits))).catch(() => undefined);
    listen((event) => this.hear(event), (up) => this.link(up));
  }

  /** Hear what the server tells; the answer ends it. */
  onEvent(heard: (event: DeskEvent) => void): () => void {
    this.listeners.add(heard);
    return () => this.listeners.delete(heard);
  }

  choose(shot: string): void {
    if (shot === this.shot) return;
    this.shot = shot;
    this.minute = null;
    void this.refreshFocus();
    void this.refreshLight();
  }

  select(selection: Selection | null): void {
    this.selection = selection;
    this.faults = [];
  }

  /** Save edits; `allowFaults` tells whether the file may have these faults. The answer tells whether they are in the file. */
  edit(label: string, edits: Edits, allowFaults: Allowed = never): Promise<boolean> {
    return this.queue(label, edits, "do", allowFaults);
  }

  /** Follow the hand: focus with edits that are not saved. */
  drag(edits: Edit[]): void {
    if (this.shot) this.socket.ask(this.shot, edits);
  }

  /** Let go: save what was dragged. */
  drop(label: string, edits: Edit[]): Promise<boolean> {
    this.socket.forget();
    this.dragFault = "";
    return this.edit(label, edits);
  }

  /** A drag was given up: the saved focus again. */
  undrag(): void {
    this.socket.forget();
    this.dragFault = "";
    void this.refreshFocus();
  }

  undo(): Promise<boolean> {
    const last = this.history.takeDone();
    return last ? this.queue(last.label, last.edits, "undo") : Promise.resolve(false);
  }

  redo(): Promise<boolean> {
    const last = this.history.takeUndone();
    return last ? this.queue(last.label, last.edits, "redo") : Promise.resolve(false);
  }

  /** Bring a file into the shoot's folder; its path from there, or null where it is refused, which is said. */
  async bring(file: File): Promise<string | null> {
    try {
      return await keepFile(file);
    } catch (error) {
      this.tell(error);
      return null;
    }
  }

  /** Have the light of the chosen shot metered, as it is saved. */
  meter(): Promise<void> {
    return this.metered(meterLight);
  }

  /** Let it go; what was known stays. */
  stopMetering(): Promise<void> {
    return this.metered(stopMetering);
  }

  private async metered(ask: (shot: string) => Promise<LightAnswer>): Promise<void> {
    const shot = this.shot;
    try {
      const light = await ask(shot);
      this.light = { ...this.light, [shot]: light };
    } catch (error) {
      this.tell(error);
    }
  }

  /** Fetch the shoot anew. */
  async refresh(): Promise<void> {
    try {
      const shoot = await getShoot();
      this.connected = true;
      if (this.shoot === null) this.units = readChoice("units", [shoot.drawn?.imperial ? "imperial" : "metric", "metric", "imperial"]);
      const before = this.shoot?.drawn?.shots.map((shot) => shot.id) ?? [];
      this.shoot = shoot;
      const ids = shoot.drawn?.shots.map((shot) => shot.id) ?? [];
      // as many shots as before: the chosen one has another id now, and stays the chosen one
      if (!ids.includes(this.shot) && ids.length === before.length) this.shot = ids[before.indexOf(this.shot)] ?? "";
      if (!ids.includes(this.shot)) this.shot = ids.includes(readChoice("shot", ["", ...ids])) ? readChoice("shot", ["", ...ids]) : (ids[0] ?? "");
      void this.refreshFocus();
      void this.refreshLight();
    } catch (error) {
      this.tell(error);
    }
  }

  /** The saved focus of the chosen shot. */
  private refreshFocus = latest(() => this.askFocus());

  private refreshLight = latest(() => this.askLight());

  private async askFocus(): Promise<void> {
    const shot = this.shot;
    if (!shot) return;
    try {
      const focus = await getFocus(shot);
      this.live = { ...this.live, [shot]: focus };
      this.refuse(shot, null);
    } catch (error) {
      if (error instanceof Refused) this.refuse(shot, { words: error.message, ways_out: error.waysOut });
      else this.tell(error);
    }
  }

  private async askLight(): Promise<void> {
    const shot = this.shot;
    if (!shot) return;
    try {
      this.light = { ...this.light, [shot]: await getLight(shot) };
    } catch (error) {
      if (error instanceof Unanswered) this.tell(error);
      else this.light = Object.fromEntries(Object.entries(this.light).filter(([id]) => id !== shot));
    }
  }

  /** Edits are saved one after another, each on top of the revision that the one before it made. */
  private queue(label: string, edits: Edits, how: "do" | "undo" | "redo", allowFaults: Allowed = how === "do" ? never : always): Promise<boolean> {
    this.saving += 1;
    const saved = this.line.then(() => this.save(label, edits, how, allowFaults));
    this.line = saved.catch(() => undefined);
    return saved;
  }

  private async save(label: string, asked: Edits, how: "do" | "undo" | "redo", allowFaults: Allowed): Promise<boolean> {
    let edits: Edit[] = [];
    try {
      if (typeof asked === "function" && this.head > (this.shoot?.revision ?? 0)) await this.refresh();
      edits = typeof asked === "function" ? asked() : asked;
      const base = Math.max(this.shoot?.revision ?? 0, this.head);
      const done = await postEdits(base, label, edits, allowFaults === always).catch((error: unknown) => {
        const bearable = error instanceof Refused && error.faults.length > 0 && allowFaults(error.faults);
        if (!bearable) throw error;
        return postEdits(base, label, edits, true);
      });
      this.history.keep(label, done.inverse, how);
      this.faults = [];
      // with more to save, and nobody else's change to show, the shoot is fetched once, when all is saved
      if (this.saving > 1 && done.revision === base + 1) this.head = done.revision;
      else await this.refresh();
      if (how !== "do") this.say(how === "undo" ? `Taken back: ${label}` : `Done again: ${label}`);
      return true;
    } catch (error) {
      if (how !== "do") this.history.putBack(label, edits, how);
      if (error instanceof Refused && error.clash) this.collide(label, edits, how, error.clash.conflicts);
      else if (error instanceof Refused && error.faults.length) {
        this.faults = error.faults;
        this.say(`Not saved. ${error.faults[0]?.found ?? ""}: expected ${error.faults[0]?.expected ?? ""}`);
      } else this.tell(error);
      if (this.head > (this.shoot?.revision ?? 0)) void this.refresh();
      else void this.refreshFocus();
      return false;
    } finally {
      this.saving -= 1;
    }
  }

  private collide(label: string, edits: Edit[], how: "do" | "undo" | "redo", conflicts: Conflict[]): void {
    const close = () => (this.clash = null);
    this.clash = {
      label,
      conflicts,
      mine: () => {
        close();
        void this.refresh().then(() => this.queue(label, edits, how));
      },
      theirs: () => {
        close();
        void this.refresh();
      },
    };
  }

  private follow(answer: LiveAnswer): void {
    this.dragFault = answer.fault ?? "";
    this.tookMs = answer.took_ms;
    if (answer.focus) this.live = { ...this.live, [answer.shot]: answer.focus };
    this.refuse(answer.shot, answer.impossible ?? null);
  }

  private refuse(shot: string, refusal: Refusal | null): void {
    if (!refusal && !(shot in this.refusal)) return;
    const others = Object.fromEntries(Object.entries(this.refusal).filter(([id]) => id !== shot));
    this.refusal = refusal ? { ...others, [shot]: refusal } : others;
  }

  private hear(event: DeskEvent): void {
    if (event.kind === "shoot" && event.revision !== this.shoot?.revision && !this.saving) void this.refresh();
    if (event.kind === "metering" && event.shot === this.shot) void this.refreshLight();
    for (const heard of this.listeners) heard(event);
  }

  private link(up: boolean): void {
    const back = up && !this.connected;
    this.connected = up;
    if (back) void this.refresh();
  }

  private tell(error: unknown): void {
    if (error instanceof Unanswered) this.connected = false;
    else if (error instanceof Refused && error.shutOut) this.locked = true;
    else if (error instanceof Error) this.say(error.message);
    else throw error;
  }
}

export const desk = new Desk();

/** Keep a choice of this browser. */
export function setTheme(theme: Theme): void {
  desk.theme = theme;
  writeChoice("theme", theme);
}

export function setUnits(units: Units): void {
  desk.units = units;
  writeChoice("units", units);
}

export function setShot(shot: string): void {
  desk.choose(shot);
  writeChoice("shot", shot);
}
