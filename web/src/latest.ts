interface Latest {
  want: (task: () => Promise<void>) => void;
  /** Drops what waits. */
  stop: () => void;
}

/**
 * Does one thing at a time, and next whatever was wanted last: nothing waits for the hand to rest, and questions do not
 * pile up behind a slow answer. Tasks deal with their own failures.
 */
export function onlyLatest(): Latest {
  let next: (() => Promise<void>) | null = null;
  let busy = false;
  const run = async () => {
    busy = true;
    while (next) {
      const task: () => Promise<void> = next;
      next = null;
      await task();
    }
    busy = false;
  };
  return {
    want(task) {
      next = task;
      if (!busy) void run();
    },
    stop() {
      next = null;
    },
  };
}
