// How soon the page answers: node tests/speed.mjs PROGRAM [--json]
//
// In Debian's Chromium, over loopback, on the demo house. Each figure is the least and the median of several runs; the
// least says most on a busy machine. Ends with 1 when a promise is not kept by the least.
import { openPage } from "./door.mjs";

const [program, form] = process.argv.slice(2);
const RUNS = 9;
const SLOWER = 4; // times, of the processor, for what is said of the first load

const door = await openPage(program);
const page = await door.newPage({ width: 1440, height: 900 });
const browser = await page.context().newCDPSession(page);

async function measured(what, once, runs = RUNS) {
  const taken = [];
  for (let i = 0; i < runs; ++i) taken.push(await once(i));
  taken.sort((a, b) => a - b);
  return { what, least: taken[0], median: taken[taken.length >> 1] };
}

/** Milliseconds until the plan is drawn and a press would be answered: the page's own clock, from the navigation on. */
async function until_it_answers() {
  await page.goto("about:blank");
  await page.goto(door.address("#/house/L1"), { waitUntil: "commit" });
  return page.evaluate(
    () =>
      new Promise((resolve) => {
        const look = () => {
          if (!document.querySelector("main svg.plan")) return void requestAnimationFrame(look);
          // What is put off until after the frame is drawn: then nothing stands before the next press.
          requestAnimationFrame(() => setTimeout(() => resolve(performance.now())));
        };
        look();
      }),
  );
}

/** Milliseconds from setting the first slider to a curve that is not the one there was, frame by frame. */
const until_redrawn = (value) =>
  page.evaluate(
    (given) =>
      new Promise((resolve) => {
        const drawn = () => document.querySelector("svg.air").innerHTML;
        const before = drawn();
        const slider = document.querySelector(".what-if input[type=range]");
        // React hears of a value only through the browser's own setter.
        Object.getOwnPropertyDescriptor(HTMLInputElement.prototype, "value").set.call(slider, given);
        const from = performance.now();
        slider.dispatchEvent(new Event("input", { bubbles: true }));
        const look = () => (drawn() === before ? requestAnimationFrame(look) : resolve(performance.now() - from));
        requestAnimationFrame(look);
      }),
    value,
  );

/** Milliseconds from a tap on the face to the verdict on the hole there. */
async function until_judged(at) {
  await page.evaluate(() => {
    window.tapped = new Promise((resolve) =>
      document.addEventListener("click", () => resolve(performance.now()), { capture: true, once: true }),
    );
  });
  await page.mouse.click(at.x, at.y);
  return page.evaluate(async () => {
    const from = await window.tapped;
    const live = document.querySelector(".verdict.live");
    return new Promise((resolve) => {
      const look = () =>
        live.getAttribute("aria-busy") === "false" ? resolve(window.judged - from) : requestAnimationFrame(look);
      look();
    });
  });
}

// First load: what goes over the wire, by the browser's own count.
const loaded = [];
await page.waitForLoadState("networkidle"); // of the load that opened the page: none of it is counted
await browser.send("Network.enable");
browser.on("Network.loadingFinished", ({ encodedDataLength }) => loaded.push(encodedDataLength));
await browser.send("Network.setCacheDisabled", { cacheDisabled: true });
await until_it_answers();
await page.waitForLoadState("networkidle");
const first_load_kb = loaded.reduce((sum, bytes) => sum + bytes, 0) / 1000;

await browser.send("Emulation.setCPUThrottlingRate", { rate: SLOWER });
const first = await measured(`first load until it answers, processor ${SLOWER} times slower`, until_it_answers);
await browser.send("Network.setCacheDisabled", { cacheDisabled: false });
await until_it_answers();
const again = await measured(`loaded again, processor ${SLOWER} times slower`, until_it_answers);
await browser.send("Emulation.setCPUThrottlingRate", { rate: 1 });

await page.goto(door.address("#/dust/E1"));
await page.locator("svg.air").waitFor();
const slider = await measured("from a slider's move to the curve redrawn", async (i) => {
  // Until the last curve is drawn on no more, which would pass for the next.
  await page.locator("progress").waitFor({ state: "detached" });
  return until_redrawn(String(10 + 5 * i));
});

await page.goto(door.address("#/jobs/J3"));
await page.getByRole("button", { name: "Add a cut" }).click();
const face = page.getByRole("dialog").getByRole("img");
await page.locator(".verdict.live[aria-busy=false]").waitFor();
const box = await face.boundingBox();
await page.evaluate(() => {
  const live = document.querySelector(".verdict.live");
  new MutationObserver(() => {
    if (live.getAttribute("aria-busy") === "false") window.judged = performance.now();
  }).observe(live, { attributes: true, childList: true, subtree: true });
});
const cut = await measured("from a hole drawn to its verdict", (i) =>
  until_judged({ x: box.x + box.width * (0.4 + 0.03 * i), y: box.y + box.height / 2 }),
);
await door.close();

const figures = [
  { what: "first load, kB over the wire", least: first_load_kb, median: first_load_kb, limit: 300 },
  { ...first, limit: 1000 },
  { ...again, limit: 1000 },
  { ...slider, limit: 100 },
  { ...cut, limit: 100 },
].map((figure) => ({ ...figure, kept: figure.least <= figure.limit }));
if (form === "--json") console.log(JSON.stringify(figures));
else
  for (const { what, least, median, limit, kept } of figures)
    console.log(
      `${what}: ${least.toFixed(0)} at least, ${median.toFixed(0)} in the middle, ${limit} promised${kept ? "" : " NOT KEPT"}`,
    );
process.exitCode = figures.every((figure) => figure.kept) ? 0 : 1;
