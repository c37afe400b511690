// Whether the window is as narrow as a phone's, as the styles have it.
import { useSyncExternalStore } from "react";

const narrow = window.matchMedia("(max-width: 40rem)");

export const useNarrow = (): boolean =>
  useSyncExternalStore(
    (changed) => {
      narrow.addEventListener("change", changed);
      return () => narrow.removeEventListener("change", changed);
    },
    () => narrow.matches,
  );
