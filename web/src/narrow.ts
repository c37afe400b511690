// Whether the window is as narrow as a phone's, as the styles have it.
import { useSyncExternalStore } from "react";

const narrow = () => window.matchMedia("(max-width: 40rem)");

function onChange(changed: () => void): () => void {
  const query = narrow();
  query.addEventListener("change", changed);
  return () => query.removeEventListener("change", changed);
}

export const useNarrow = (): boolean => useSyncExternalStore(onChange, () => narrow().matches);
