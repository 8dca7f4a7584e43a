/** Files from this machine that go into the shoot's folder. */

export const MESHES = ".obj,.ply,.stl,.glb";
export const LUMINAIRES = ".ies,.ldt";

/** A file with one of the endings, as somebody picks it; null where none is picked. To be called while a click is heard. */
export function pickFile(endings: string): Promise<File | null> {
  const box = document.createElement("input");
  box.type = "file";
  box.accept = endings;
  return new Promise((resolve) => {
    box.addEventListener("change", () => resolve(box.files?.[0] ?? null));
    box.addEventListener("cancel", () => resolve(null));
    box.click();
  });
}
