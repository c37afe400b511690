// Where one is, kept in the address after the #, so that links and the back button work.
import { useSyncExternalStore } from "react";

export const PLACES = ["house", "jobs", "testing", "dust", "waste", "papers"] as const;
/** `one` is what is open there: a job, an event, a paper. */
export type Route =
  | { place: "house"; storey?: string; chosen?: string }
  | { place: "jobs" | "testing" | "dust" | "waste" | "papers"; one?: string };

export function read(hash: string): Route {
  const [place, first, second] = hash.replace(/^#\/?/, "").split("/").map(decodeURIComponent);
  for (const known of PLACES) {
    if (known === "house" || known !== place) continue;
    return first ? { place: known, one: first } : { place: known };
  }
  return { place: "house", ...(first ? { storey: first } : {}), ...(second ? { chosen: second } : {}) };
}

export function href(route: Route): string {
  const parts = route.place === "house" ? [route.place, route.storey, route.chosen] : [route.place, route.one];
  return `#/${parts
    .filter((part): part is string => part !== undefined)
    .map(encodeURIComponent)
    .join("/")}`;
}

export function go(route: Route): void {
  window.location.hash = href(route);
}

function subscribe(changed: () => void): () => void {
  window.addEventListener("hashchange", changed);
  return () => window.removeEventListener("hashchange", changed);
}

export function useRoute(): Route {
  return read(useSyncExternalStore(subscribe, () => window.location.hash));
}
