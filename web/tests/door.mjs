// A demo book served by the program, and Debian's Chromium to look at it with.
import { execFileSync, spawn, spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

/** `make` is the command that makes the book, with its words: "demo", or "import" and a file. */
export async function openPage(program, ...make) {
  const folder = mkdtempSync(join(tmpdir(), "lathbook-page-"));
  const book = join(folder, "house.lathbook");
  execFileSync(program, [...(make.length > 0 ? make : ["demo"]), book]);
  let server;
  let entrance;
  const stop = async () => {
    const ended = new Promise((resolve) => server.once("exit", resolve));
    server.kill("SIGTERM");
    await ended;
  };
  /** Starts the program on the book; `more` words as `lathbook serve` takes them. */
  const start = async (...more) => {
    server = spawn(program, ["serve", book, "--no-open", ...more], { stdio: ["ignore", "pipe", "inherit"] });
    const begun = server;
    process.on("exit", () => begun.kill()); // also when a run is cut short
    entrance = await new Promise((resolve, reject) => {
      let said = "";
      begun.stdout.on("data", (bytes) => {
        said += bytes;
        const found = /http:\S+/.exec(said);
        if (found) resolve(found[0]);
      });
      begun.on("exit", () => reject(new Error(`the program ended: ${said}`)));
    });
  };
  await start();
  const context_options = (options) => ({
    viewport: { width: options.width, height: options.height },
    colorScheme: options.colorScheme ?? "light",
    reducedMotion: "reduce",
    hasTouch: options.width < 500,
    locale: "en-GB",
    // What goes through a service worker is out of sight for the routes a journey sets.
    serviceWorkers: options.serviceWorkers ?? "block",
  });
  const browser = await chromium.launch({
    executablePath: "/usr/bin/chromium",
    args: [
      "--headless",
      "--no-sandbox",
      "--disable-gpu",
      "--disable-quic",
      "--no-first-run",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
    ],
  });
  return {
    book,
    stop,
    start,
    /** Opens the address that the program prints in another window of the same browser, as its owner would. */
    async enter(page) {
      const window = await page.context().newPage();
      await window.goto(entrance);
      await window.close();
    },
    /** What the command says of the same book: its status and its output. */
    lathbook(...words) {
      const { status, stdout } = spawnSync(program, [...words, book], { encoding: "utf8" });
      return { status, out: stdout };
    },
    /** The same of a question that needs no book. */
    without_book: (...words) => spawnSync(program, words, { encoding: "utf8" }).stdout,
    /** What the command makes of a paper, by the name of its file. */
    papers(...words) {
      const to = mkdtempSync(join(folder, "papers-"));
      execFileSync(program, ["papers", ...words, "--to", to, "--force", book]);
      return (name) => readFileSync(join(to, name));
    },
    address: (hash) => new URL(entrance).origin + "/" + hash,
    async newPage(options) {
      const context = await browser.newContext(context_options(options));
      const page = await context.newPage();
      page.troubles = [];
      page.on("console", (message) => message.type() === "error" && page.troubles.push(message.text()));
      page.on("pageerror", (error) => page.troubles.push(String(error)));
      await page.goto(entrance);
      return page;
    },
    async close() {
      await browser.close();
      await stop();
      rmSync(folder, { recursive: true });
    },
  };
}
