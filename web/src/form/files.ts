/** Files from this machine that go into the shoot's folder. */
import { desk } from "../app/state.svelte";

export const MESHES = ".obj,.ply,.stl,.glb";
export const LUMINAIRES = ".ies,.ldt";

/** Have a file with one of the endings picked, and bring it into the shoot's folder: its path from there; null where
    none is picked, or it is refused. To be called while a click is heard. */
export async function bringFile(endings: string): Promise<string | null> {
  const file = await pickFile(endings);
  return file && desk.bring(file);
}

function pickFile(endings: string): Promise<File | null> {
  const box = document.createElement("input");
  box.type = "file";
  box.accept = endings;
  return new Promise((resolve) => {
    box.addEventListener("change", () => resolve(box.files?.[0] ?? null));
    box.addEventListener("cancel", () => resolve(null));
    box.click();
  });
}
