// A demo book served by the program, and Debian's Chromium to look at it with.
import { execFileSync, spawn, spawnSync } from "node:child_process";
import { X509Certificate } from "node:crypto";
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

const running = new Set();
process.on("exit", () => running.forEach((server) => server.kill())); // also when a run is cut short

/** Makes a home in which Chromium trusts an authority, as a phone does once it is installed. */
function home_that_trusts(folder, der) {
  const database = join(folder, ".pki", "nssdb");
  mkdirSync(database, { recursive: true });
  const file = join(folder, "authority.crt");
  writeFileSync(file, der);
  const certutil = (...words) => execFileSync("certutil", ["-d", `sql:${database}`, ...words]);
  certutil("-N", "--empty-password");
  certutil("-A", "-t", "C,,", "-n", "lathbook", "-i", file);
}

/** `make` is the command that makes the book, with its words: "demo", or "import" and a file. */
export const openPage = (program, ...make) => open(program, make.length > 0 ? make : ["demo"], false);

/** The demo, with phones let in; the browser is one that trusts the program's authority. */
export const openPhone = (program) => open(program, ["demo"], true);

async function open(program, make, phone) {
  const folder = mkdtempSync(join(tmpdir(), "lathbook-page-"));
  const book = join(folder, "house.lathbook");
  execFileSync(program, [...make, book]);
  const env = { ...process.env, XDG_CONFIG_HOME: join(folder, "config") };
  let server;
  let entrance;
  const for_phone = {}; // what the program says of it
  const stop = async () => {
    const ended = new Promise((resolve) => server.once("exit", resolve));
    server.kill("SIGTERM");
    await ended;
  };
  /** Starts the program on the book; `more` words as `lathbook serve` takes them. */
  const start = async (...more) => {
    const words = ["serve", book, "--no-open", ...(phone ? ["--phone"] : []), ...more];
    server = spawn(program, words, { stdio: ["ignore", "pipe", "inherit"], env });
    const begun = server;
    running.add(begun);
    begun.on("exit", () => running.delete(begun));
    entrance = await new Promise((resolve, reject) => {
      let said = "";
      begun.stdout.on("data", (bytes) => {
        said += bytes;
        if (!said.includes("Ctrl-C")) return;
        for_phone.address = /https:\S+/.exec(said)?.[0];
        for_phone.code = /five minutes: (\d{6})/.exec(said)?.[1];
        for_phone.fingerprint = /is\n {2}(\S+)\n {2}(\S+)\n/.exec(said)?.slice(1).join(":");
        resolve(/http:\S+/.exec(said)[0]);
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
  const home = join(folder, "home");
  if (phone) {
    const pem = readFileSync(join(env.XDG_CONFIG_HOME, "lathbook", "phone", "authority.crt"));
    home_that_trusts(home, new X509Certificate(pem).raw);
  }
  const browser = await chromium.launch({
    executablePath: "/usr/bin/chromium",
    ...(phone ? { env: { ...process.env, HOME: home } } : {}),
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
    for_phone,
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
      const { status, stdout } = spawnSync(program, [...words, book], { encoding: "utf8", env });
      return { status, out: stdout };
    },
    /** The same of a question that needs no book. */
    without_book: (...words) => spawnSync(program, words, { encoding: "utf8", env }).stdout,
    /** What the command makes of a paper, by the name of its file. */
    papers(...words) {
      const to = mkdtempSync(join(folder, "papers-"));
      execFileSync(program, ["papers", ...words, "--to", to, "--force", book]);
      return (name) => readFileSync(join(to, name));
    },
    address: (hash) => new URL(entrance).origin + "/" + hash,
    async newPage(options, at = entrance) {
      const context = await browser.newContext(context_options(options));
      const page = await context.newPage();
      page.troubles = [];
      page.on("console", (message) => message.type() === "error" && page.troubles.push(message.text()));
      page.on("pageerror", (error) => page.troubles.push(String(error)));
      await page.goto(at);
      return page;
    },
    async close() {
      await browser.close();
      await stop();
      rmSync(folder, { recursive: true });
    },
  };
}
