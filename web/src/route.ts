// Where one is, kept in the address after the #, so that links and the back button work.
import { useSyncExternalStore } from "react";

export type Route =
  | { place: "house"; storey?: string; chosen?: string }
  | { place: "jobs"; job?: string };

export function read(hash: string): Route {
  const [place, first, second] = hash.replace(/^#\/?/, "").split("/").map(decodeURIComponent);
  if (place === "jobs") return first ? { place, job: first } : { place };
  return { place: "house", ...(first ? { storey: first } : {}), ...(second ? { chosen: second } : {}) };
}

export function href(route: Route): string {
  const parts = route.place === "jobs" ? [route.place, route.job] : [route.place, route.storey, route.chosen];
  return `#/${parts.filter((part): part is string => part !== undefined).map(encodeURIComponent).join("/")}`;
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
