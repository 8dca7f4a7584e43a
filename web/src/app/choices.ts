/** Small choices that this browser keeps from one visit to the next; nothing of the shoot is kept here. */
const key = (name: string) => `sidelong.${name}`;

/** The choice kept under a name if it is one of those allowed, else the first of them. */
export function readChoice<T extends string>(name: string, allowed: readonly [T, ...T[]]): T {
  let kept: string | null = null;
  try {
    kept = localStorage.getItem(key(name));
  } catch {
    // a browser may forbid storage; the choice then lasts as long as the page
  }
  return allowed.find((choice) => choice === kept) ?? allowed[0];
}

export function writeChoice(name: string, value: string): void {
  try {
    localStorage.setItem(key(name), value);
  } catch {
    // as above
  }
}
