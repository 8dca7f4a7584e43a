/** One question under way at a time; what is asked meanwhile is asked once more when the answer is there. */
export function latest(ask: () => Promise<void>): () => Promise<void> {
  let running: Promise<void> | null = null;
  let again = false;
  const run = async (): Promise<void> => {
    do {
      again = false;
      await ask();
    } while (again);
    running = null;
  };
  return () => {
    if (running) again = true;
    else running = run();
    return running ?? Promise.resolve();
  };
}
