// A demo book served by the program, and Debian's Chromium to look at it with.
import { execFileSync, spawn, spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

export async function openPage(program, make = "demo") {
  const folder = mkdtempSync(join(tmpdir(), "lathbook-page-"));
  const book = join(folder, "house.lathbook");
  execFileSync(program, [make, book]);
  const server = spawn(program, ["serve", book, "--no-open"], { stdio: ["ignore", "pipe", "inherit"] });
  process.on("exit", () => server.kill()); // also when a run is cut short
  const entrance = await new Promise((resolve, reject) => {
    let said = "";
    server.stdout.on("data", (bytes) => {
      said += bytes;
      const found = /http:\S+/.exec(said);
      if (found) resolve(found[0]);
    });
    server.on("exit", () => reject(new Error(`the program ended: ${said}`)));
  });
  const context_options = (options) => ({
    viewport: { width: options.width, height: options.height },
    colorScheme: options.colorScheme ?? "light",
    reducedMotion: "reduce",
    hasTouch: options.width < 500,
    locale: "en-GB",
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
      server.kill("SIGTERM");
      await new Promise((resolve) => server.on("exit", resolve));
      rmSync(folder, { recursive: true });
    },
  };
}
