// Keeps the page and the program's last answers in the browser, so that the house can be read where there is no link.
// The program is always asked first; what it kept is given only when no answer comes, and says so in a header. Edits do not
// pass here: the page keeps them itself. A window that is let in no longer (401) loses all that was kept.
const KEPT = "lathbook-kept-1";
const WHEN = "Lathbook-Kept";
const PATIENCE_MS = 6000;
const PAGE = ["/", "/mark.svg", "/manifest.webmanifest"];
/** Named by their content: what is kept of them is what the program would send. */
const FOR_GOOD = "/assets/";
/** Answers of the book worth keeping; papers, runs and what concerns phones are not. */
const ANSWERS = /^\/api\/(book|schema|check|material|certificate|walk|photo|testing|timeline|waste|now)(\/|$)/;

self.addEventListener("install", (event) => {
  self.skipWaiting();
  event.waitUntil(keep_page());
});

self.addEventListener("activate", (event) => {
  const others = caches.keys().then((names) => names.filter((name) => name !== KEPT));
  event.waitUntil(
    others.then((names) => Promise.all(names.map((name) => caches.delete(name)))).then(() => self.clients.claim()),
  );
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin || url.search !== "") return;
  if (url.pathname.startsWith(FOR_GOOD)) event.respondWith(for_good(event));
  else if (PAGE.includes(url.pathname) || ANSWERS.test(url.pathname)) event.respondWith(answered(event, url.pathname));
});

/** The page as it is now, with the script and style it names, also those that it fetches later. */
async function keep_page() {
  const kept = await caches.open(KEPT);
  await kept.addAll(PAGE);
  const page = await (await kept.match("/")).text();
  const named = [...page.matchAll(/(?:src|href|content)="(\/assets\/[^"]+)"/g)].map((found) => found[1]);
  for (const request of await kept.keys()) {
    const { pathname } = new URL(request.url);
    if (pathname.startsWith(FOR_GOOD) && !named.includes(pathname)) await kept.delete(request);
  }
  await kept.addAll(named);
}

async function for_good(event) {
  const { pathname } = new URL(event.request.url);
  const kept = await caches.match(pathname, { cacheName: KEPT });
  if (kept) return kept;
  event.waitUntil(keep_page().catch(() => undefined)); // the program is another than it was
  return fetch(event.request);
}

async function answered(event, path) {
  try {
    const answer = await Promise.race([
      fetch(event.request),
      new Promise((_, late) => setTimeout(() => late(new Error("no answer in time")), PATIENCE_MS)),
    ]);
    if (answer.status === 401) event.waitUntil(caches.delete(KEPT));
    if (answer.status === 200 && answer.type === "basic") event.waitUntil(keep(path, answer.clone()));
    return answer;
  } catch (error) {
    const kept = await caches.match(path, { cacheName: KEPT });
    if (!kept) throw error;
    return kept;
  }
}

/** Under its path alone, with the moment it was answered. */
async function keep(path, answer) {
  const headers = new Headers(answer.headers);
  headers.set(WHEN, new Date().toISOString());
  const kept = await caches.open(KEPT);
  await kept.put(path, new Response(await answer.blob(), { status: 200, headers }));
}
