// What is read where there is no link: the service worker (public/sw.js) keeps every answer it passes on, and here it is
// given all those of the book to pass on, once for each state of it. The laptop itself needs no more than the book.
import type { WholeBook } from "./api";

const register = async (): Promise<void> => {
  if (!("serviceWorker" in navigator)) return;
  // Refused where the phone does not trust the certificate: then the page works as long as it stays open.
  await navigator.serviceWorker.register("/sw.js");
  await navigator.serviceWorker.ready;
  if (navigator.serviceWorker.controller) return;
  await new Promise((resolve) => navigator.serviceWorker.addEventListener("controllerchange", resolve, { once: true }));
};
let ready: Promise<boolean> | null = null;

/** Over TLS it is a phone that asks; the laptop's own page is on loopback. */
export const onPhone = (): boolean => window.location.protocol === "https:";

export function answersOf({ book }: Pick<WholeBook, "book">): string[] {
  const each = (word: string, items: readonly { id: string }[] | undefined) =>
    (items ?? []).map((item) => `${word}/${item.id}`);
  const photos = (book.documents ?? []).filter((one) => one.media_type.startsWith("image/"));
  return [
    ...each("check", book.jobs),
    ...each("material", book.materials),
    ...each("walk", book.rooms),
    ...each("photo", photos),
    ...each("certificate", book.certificates),
    "now",
    "timeline",
    "waste",
    "testing",
  ];
}

let latest = 0;

export async function keepForLater(whole: WholeBook): Promise<void> {
  const mine = ++latest;
  ready ??= register().then(
    () => "serviceWorker" in navigator,
    () => false,
  );
  if (!(await ready)) return;
  for (const one of ["book", "schema", ...(onPhone() ? answersOf(whole) : [])]) {
    if (mine !== latest) return; // the book has moved on: what is left is asked for as it is now
    await fetch(`/api/${one}`).catch(() => undefined);
  }
}
