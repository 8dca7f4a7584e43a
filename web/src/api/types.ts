/** The messages by short names; `schema.d.ts` is made from the server's own description of them. */
import type { components } from "./schema";

type S = components["schemas"];

export type ShootState = S["ShootState"];
export type Drawn = S["Drawn"];
export type DrawnRoom = S["DrawnRoom"];
export type DrawnOpening = S["DrawnOpening"];
export type DrawnBlock = S["DrawnBlock"];
export type DrawnPerson = S["DrawnPerson"];
export type DrawnMark = S["DrawnMark"];
export type DrawnShot = S["DrawnShot"];
export type DrawnLight = S["DrawnLight"];
export type DrawnCamera = S["DrawnCamera"];
export type Fault = S["FaultOf"];
export type EditsRequest = S["EditsRequest"];
export type Edit = EditsRequest["edits"][number];
export type Step = string | number | { is: string };
export type EditsDone = S["EditsDone"];
export type EditsRefused = S["EditsRefused"];
export type Conflict = S["Conflict"];
export type Refusal = S["Refusal"];
export type Focus = S["FocusAnswer"];
export type FocusPoint = S["FocusPoint"];
export type LevelCut = S["LevelCut"];
export type LiveAnswer = S["LiveAnswer"];
export type LightAnswer = S["LightAnswer"];
export type LightTable = S["LightTable"];
export type Day = S["Day"];
export type Sun = S["Sun"];
export type Card = S["Card"];
export type Take = S["Take"];
export type PictureEntry = S["PictureEntry"];
export type DeskEvent = S["Event"];
export type Me = S["Me"];
export type Wanted = FocusPoint["wanted"];
export type Pair = [number, number];
export type Triple = [number, number, number];
