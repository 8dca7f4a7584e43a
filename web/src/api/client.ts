/** The ways to the server: requests that answer in JSON, the stream of events, the websocket that follows a drag. */
import type {
  Day, DeskEvent, Edit, EditsDone, EditsRefused, Fault, FileKept, Focus, LightAnswer, LiveAnswer, Me, PictureEntry, Refusal, ShootState, Sun,
} from "./types";

/** The server said no: in words, with the file's faults, the clashing paths, or ways out where there are any. */
export class Refused extends Error {
  constructor(
    readonly status: number,
    words: string,
    readonly faults: Fault[] = [],
    readonly clash: EditsRefused | null = null,
    readonly waysOut: Refusal["ways_out"] = [],
    /** Nothing at all is answered to this browser any more. */
    readonly shutOut = false,
  ) {
    super(words);
  }
}

/** No answer at all: the server has gone, or the network has. */
export class Unanswered extends Error {}

interface Body {
  error?: { words?: string; faults?: Fault[] | null; ways_out?: Refusal["ways_out"] | null };
  conflicts?: EditsRefused["conflicts"];
  revision?: number;
}

async function answer(method: string, path: string, body?: unknown): Promise<Response> {
  const asked: RequestInit = { method, credentials: "same-origin", cache: "no-store" };
  if (body !== undefined) {
    const isFile = body instanceof Blob;
    asked.body = isFile ? body : JSON.stringify(body);
    asked.headers = { "content-type": isFile ? "application/octet-stream" : "application/json" };
  }
  let response: Response;
  try {
    response = await fetch(path, asked);
  } catch {
    throw new Unanswered("the desk's server does not answer");
  }
  if (!response.ok) throw await refusal(response, method === "GET");
  return response;
}

async function refusal(response: Response, looking: boolean): Promise<Refused> {
  const body = (await response.json().catch(() => ({}))) as Body;
  if (body.conflicts && body.revision !== undefined) {
    const clash = { revision: body.revision, conflicts: body.conflicts };
    return new Refused(response.status, "changed meanwhile", [], clash);
  }
  const words = body.error?.words ?? `the server refused this (${response.status})`;
  const shutOut = looking && response.status === 403;
  return new Refused(response.status, words, body.error?.faults ?? [], null, body.error?.ways_out ?? [], shutOut);
}

/** Ask for JSON. Throws Refused with the server's words, or Unanswered. */
export async function ask<T>(method: "GET" | "POST" | "DELETE" | "PATCH", path: string, body?: unknown): Promise<T> {
  return (await (await answer(method, path, body)).json()) as T;
}

/** Ask for bytes. */
export async function bytes(path: string): Promise<ArrayBuffer> {
  return (await answer("GET", path)).arrayBuffer();
}

/** Where the server answers for one shot. */
export const of = (shot: string) => `api/shots/${encodeURIComponent(shot)}`;

export const getShoot = () => ask<ShootState>("GET", "api/shoot");
export const getFocus = (shot: string) => ask<Focus>("GET", `${of(shot)}/focus`);
export const getLight = (shot: string) => ask<LightAnswer>("GET", `${of(shot)}/light`);
export const meterLight = (shot: string) => ask<LightAnswer>("POST", `${of(shot)}/light`);
export const stopMetering = (shot: string) => ask<LightAnswer>("DELETE", `${of(shot)}/light`);
export const getSun = (when: string) => ask<Sun>("GET", `api/sun?when=${encodeURIComponent(when)}`);
export const getDay = (date: string) => ask<Day>("GET", `api/day?date=${encodeURIComponent(date)}`);
export const getPictures = () => ask<PictureEntry[]>("GET", "api/pictures");
export const tracePicture = (shot: string, quality: PictureEntry["quality"]) => ask<PictureEntry>("POST", "api/pictures", { shot, quality });
/** Put a file into the shoot's folder; its path from there. */
export const keepFile = async (file: File) => (await ask<FileKept>("POST", `api/files?name=${encodeURIComponent(file.name)}`, file)).file;
export const getMe = () => ask<Me>("GET", "api/me");

const LONGEST_LABEL = 200;

/** Save edits on top of the revision `base`. */
export function postEdits(base: number, label: string, edits: Edit[], allowFaults = false): Promise<EditsDone> {
  return ask<EditsDone>("POST", "api/edits", { base, label: label.slice(0, LONGEST_LABEL), edits, allow_faults: allowFaults });
}

/** Listen to the server's events for good; `up` tells whether the stream is open. */
export function listen(onEvent: (event: DeskEvent) => void, onUp: (up: boolean) => void): void {
  const source = new EventSource("api/events");
  source.onopen = () => onUp(true);
  source.onmessage = (message: MessageEvent<string>) => onEvent(JSON.parse(message.data) as DeskEvent);
  source.onerror = () => {
    onUp(false);
    if (source.readyState === EventSource.CLOSED) setTimeout(() => listen(onEvent, onUp), 2000);
  };
}

/**
 * The focus while something is dragged. One question is under way at a time; of those that come meanwhile only the
 * newest is asked, so that answers keep up with the hand.
 */
export class Live {
  private socket: WebSocket | null = null;
  private seq = 0;
  private busy = false;
  private next: { shot: string; edits: Edit[] } | null = null;
  private newest = 0;

  constructor(private readonly onAnswer: (answer: LiveAnswer) => void) {}

  /** Ask for the focus of a shot with edits that are not saved. */
  ask(shot: string, edits: Edit[]): void {
    this.next = { shot, edits };
    this.send();
  }

  /** Answers still under way no longer count: what they were asked for has been saved or left. */
  forget(): void {
    this.next = null;
    this.newest = this.seq + 1;
  }

  private open(): WebSocket {
    const socket = new WebSocket(`${location.origin.replace(/^http/, "ws")}/api/live`);
    socket.onopen = () => this.send();
    socket.onclose = () => {
      this.busy = false;
      this.socket = null;
    };
    socket.onmessage = (message: MessageEvent<string>) => {
      this.busy = false;
      const told = JSON.parse(message.data) as LiveAnswer;
      if (told.seq >= this.newest) this.onAnswer(told);
      this.send();
    };
    return socket;
  }

  private send(): void {
    this.socket ??= this.open();
    if (!this.next || this.busy || this.socket.readyState !== WebSocket.OPEN) return;
    this.busy = true;
    this.seq += 1;
    this.socket.send(JSON.stringify({ seq: this.seq, ...this.next }));
    this.next = null;
  }
}
