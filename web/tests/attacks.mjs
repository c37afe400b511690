// What a stranger's words, and a stranger's page, may not do. docs/security.md names these.
// node tests/attacks.mjs PROGRAM
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createServer } from "node:http";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { openPage } from "./door.mjs";

const program = process.argv[2];
const folder = mkdtempSync(join(tmpdir(), "lathbook-attacks-"));

// ---- words ------------------------------------------------------------------------------------------------------------

const MARKUP = `"'><img src=x onerror="window.ran=1" data-in><script data-in>window.ran=1</script><b data-in>&lt;`;
const FORMULAS = ["=1+cmd|' /C calc'!A0", "+1+1", "-1+1", "@SUM(1)", "\t=1+1", "\r=1+1"];

/** Fields in a person's own words: text without a form, that is no id of a table either. */
function isFree(part) {
  const formed = part.enum ?? part.pattern ?? part.format ?? part.const;
  return (
    part.type === "string" && !formed && !/an id of|a control$|media type|whose rules|base64/.test(part.description)
  );
}

/** Puts `words` into every free field of an item, those left out included; answers how many there were. */
function fill(item, form, words) {
  let count = 0;
  for (const [name, part] of Object.entries(form.properties ?? {})) {
    if (name === "region") continue; // one that the rules know, or none
    if (isFree(part)) {
      item[name] = words(name).slice(0, part.maxLength);
      count += 1;
    } else if (part.type === "object" && item[name]) {
      count += fill(item[name], part, words);
    }
  }
  return count;
}

/** The demo house with a stranger's words in every field, as a file in the open form. */
function filled(name, words) {
  const schema = JSON.parse(readFileSync("../data/schemas/book.schema.json", "utf8"));
  const book = join(folder, `${name}-demo.lathbook`);
  execFileSync(program, ["demo", book]);
  const form = JSON.parse(execFileSync(program, ["export", book], { encoding: "utf8" }));
  const kinds = new Set();
  let count = fill(form.about, schema.$defs.about, words);
  for (const [list, part] of Object.entries(schema.properties)) {
    const kind = /\$defs\/(\w+)/.exec(part.items?.$ref ?? "")?.[1];
    for (const item of (kind && form[list]) ?? []) {
      kinds.add(kind);
      count += fill(item, schema.$defs[kind], words);
    }
  }
  // No two bags bear one label.
  for (const [number, sample] of form.samples.entries()) sample.label = `${sample.label.slice(0, 37)} ${number}`;
  assert.ok(count > 150 && kinds.size > 15, `${count} fields of ${kinds.size} kinds of items`);
  const file = join(folder, `${name}.json`);
  writeFileSync(file, JSON.stringify(form));
  return file;
}

const VIEWS = [
  "#/house",
  "#/house/L1",
  "#/house/L1/R4",
  "#/house/L1/M2",
  "#/jobs",
  "#/jobs/J1",
  "#/jobs/J2",
  "#/jobs/timeline",
  "#/testing",
  "#/waste",
  "#/papers",
  "#/papers/register",
  "#/papers/J2",
  "#/dust",
  "#/dust/now",
  "#/dust/new",
  "#/dust/E1",
];

async function words_stay_words() {
  const door = await openPage(
    program,
    "import",
    filled("markup", () => MARKUP),
  );
  try {
    const page = await door.newPage({ width: 1440, height: 900 });
    page.setDefaultTimeout(20_000);
    const ran = [];
    page.on("dialog", (dialog) => ran.push(dialog.message()) && dialog.dismiss());
    let shown = 0;
    for (const view of VIEWS) {
      await page.goto(door.address(view));
      await page.getByRole("main").getByRole("heading", { level: 1 }).waitFor();
      await page.waitForTimeout(300);
      // Open what is folded, so that all there is to show is shown.
      for (const fold of await page.locator("details:not([open]) > summary").all())
        await fold.click({ timeout: 2000 }).catch(() => {});
      assert.equal(await page.evaluate(() => window.ran), undefined, `${view}: a script ran`);
      assert.equal(await page.locator("[data-in]").count(), 0, `${view}: words became elements`);
      if ((await page.locator("body").innerText()).includes("<script data-in>")) shown += 1;
    }
    assert.ok(shown >= VIEWS.length / 2, `the words were to be seen in ${shown} views only`);
    assert.deepEqual(ran, []);
    // The policy stops nothing here: there must be nothing for it to stop.
    // What was asked for a view that had been left may be gone; that is told, and is no word that ran.
    assert.deepEqual(
      page.troubles.filter((one) => !/status of 404/.test(one)),
      [],
    );

    // Were the words to become elements after all, the policy would still let none of it run.
    await page.evaluate((words) => document.body.insertAdjacentHTML("beforeend", words), MARKUP);
    await page.evaluate(() => {
      const script = document.createElement("script");
      script.textContent = "window.ran=1";
      document.body.append(script);
    });
    await page.waitForTimeout(300);
    assert.equal(await page.evaluate(() => window.ran), undefined, "the policy let a script run");
    assert.ok(page.troubles.some((one) => one.includes("Content Security Policy")));

    const papers = door.papers();
    for (const name of ["register.pdf", "handover/handover.pdf", "briefs/J2.pdf", "sample-labels.pdf"]) {
      let bytes;
      try {
        bytes = papers(name);
      } catch {
        continue;
      }
      writeFileSync(join(folder, "one.pdf"), bytes);
      const plain = execFileSync("qpdf", ["--qdf", "--object-streams=disable", join(folder, "one.pdf"), "-"], {
        encoding: "latin1",
      });
      for (const active of ["/JavaScript", "/JS", "/Launch", "/OpenAction", "/AA ", "/SubmitForm", "/EmbeddedFile"])
        assert.ok(!plain.includes(active), `${name} holds ${active}`);
      if (!/register|handover/.test(name)) continue; // the others have no room for so many words
      const text = execFileSync("pdftotext", [join(folder, "one.pdf"), "-"], { encoding: "utf8" }).replace(/\s/g, "");
      assert.ok(text.includes("<scriptdata-in>"), `${name} does not show the words as they are`);
    }
    execFileSync(program, ["show", "plan", "--svg", join(folder, "plan.svg"), "--book", door.book]);
    assert.ok(
      !/<script|data-in>|<img/.test(readFileSync(join(folder, "plan.svg"), "utf8")),
      "words in a drawing became elements",
    );
  } finally {
    await door.close();
  }
}

function no_cell_is_a_formula() {
  let next = 0;
  const file = filled("formulas", () => FORMULAS[next++ % FORMULAS.length]);
  const book = join(folder, "formulas.lathbook");
  execFileSync(program, ["import", file, book]);
  const to = join(folder, "tables");
  execFileSync(program, ["papers", "tables", "--to", to, "--book", book]);
  const found = execFileSync("find", [to, "-name", "*.csv"], { encoding: "utf8" }).trim().split("\n");
  assert.ok(found.length > 2, "no tables were made");
  let harmless = 0;
  for (const table of found) {
    // Cells as RFC 4180 has them.
    for (const [, quoted, bare] of readFileSync(table, "utf8").matchAll(
      /(?:^|,|\r?\n)(?:"((?:[^"]|"")*)"|([^",\r\n]*))/g,
    )) {
      const cell = quoted ?? bare ?? "";
      assert.ok(!/^[=+@\t\r]/.test(cell) && !/^-(?!\d+(\.\d+)?$)/.test(cell), `${table}: ${cell}`);
      if (/^'[=+\-@\t\r]/.test(cell)) harmless += 1;
    }
  }
  assert.ok(harmless > 20, `${harmless} cells were made harmless`);
}

// ---- pages ------------------------------------------------------------------------------------------------------------

/** Another site on this machine. That it is sent our cookie, as cookies know no ports, is met by peer.h. */
async function other_site(html) {
  const server = createServer((request, response) => {
    response.writeHead(200, { "Content-Type": "text/html" });
    response.end(html);
  });
  await new Promise((resolve) => server.listen(0, "0.0.0.0", resolve));
  return { port: server.address().port, close: () => server.close() };
}

async function other_sites_get_nothing() {
  const door = await openPage(program);
  const ours = new URL(door.address("")).origin;
  const before = door.lathbook("history").out;
  const hosts = ["127.0.0.1", "localhost", new URL(ours).hostname];
  for (const host of new Set(hosts)) {
    const site = await other_site(`<!doctype html><title>another site</title><body></body>`);
    try {
      const page = await door.newPage({ width: 800, height: 600 });
      const [cookie] = await page.context().cookies(ours);
      assert.ok(cookie.httpOnly && cookie.sameSite === "Strict", "the cookie is out of scripts' reach");
      assert.equal(await page.evaluate(() => document.cookie), "");
      await page.goto(`http://${host}:${site.port}/`);
      const got = await page.evaluate(async (target) => {
        const out = {};
        const attempt = async (name, action) => {
          try {
            out[name] = await action();
          } catch (error) {
            out[name] = `refused: ${error.name}`;
          }
        };
        const loaded = (element) =>
          new Promise((resolve) => {
            element.onload = () => resolve("loaded");
            element.onerror = () => resolve("refused");
            document.body.append(element);
          });
        const element = (kind, fields) => Object.assign(document.createElement(kind), fields);
        await attempt("read", async () => (await fetch(`${target}/api/book`, { credentials: "include" })).status);
        await attempt(
          "read blind",
          async () =>
            (await (await fetch(`${target}/api/book`, { mode: "no-cors", credentials: "include" })).text()).length,
        );
        await attempt(
          "write",
          async () =>
            (
              await fetch(`${target}/api/undo`, {
                method: "POST",
                credentials: "include",
                headers: { "Content-Type": "application/json" },
                body: `{"revision":1}`,
              })
            ).status,
        );
        await attempt(
          "write blind",
          async () =>
            (
              await fetch(`${target}/api/undo`, {
                method: "POST",
                mode: "no-cors",
                credentials: "include",
                body: `{"revision":1}`,
              })
            ).type,
        );
        await attempt("script", () => loaded(element("script", { src: `${target}/api/book` })));
        await attempt("picture", () => loaded(element("img", { src: `${target}/api/photo/D1` })));
        await attempt("frame", async () => {
          const frame = element("iframe", { src: `${target}/` });
          await Promise.race([loaded(frame), new Promise((resolve) => setTimeout(resolve, 1500))]);
          try {
            return frame.contentDocument?.body?.innerText ?? "nothing";
          } catch {
            return "nothing";
          }
        });
        await attempt("cookie", () => document.cookie);
        return out;
      }, ours);
      // A form needs no leave to be sent: it must not be listened to.
      await page.evaluate((target) => {
        const form = Object.assign(document.createElement("form"), {
          method: "post",
          action: `${target}/api/undo`,
          enctype: "text/plain",
        });
        form.append(Object.assign(document.createElement("input"), { name: `{"revision":1,"x":"`, value: `"}` }));
        document.body.append(form);
        form.submit();
      }, ours);
      await page.waitForTimeout(500);
      // A blind request may leave the browser; nothing of its answer may be told.
      const expected = {
        read: /^refused/,
        "read blind": /^(refused|0$)/,
        write: /^refused/,
        "write blind": /^(refused|opaque$)/,
        script: /^refused/,
        picture: /^refused/,
        frame: /^nothing$/,
        cookie: /^$/,
      };
      for (const [what, answer] of Object.entries(expected))
        assert.match(String(got[what]), answer, `${host}: ${what} gave ${got[what]}`);
      await page.context().close();
    } finally {
      site.close();
    }
  }
  assert.equal(door.lathbook("history").out, before, "another site wrote into the book");
  await door.close();
}

let failed = 0;
for (const attack of [words_stay_words, no_cell_is_a_formula, other_sites_get_nothing]) {
  try {
    await attack();
    console.log(`ok     ${attack.name.replaceAll("_", " ")}`);
  } catch (error) {
    failed += 1;
    console.log(`FAILED ${attack.name.replaceAll("_", " ")}\n${error.stack ?? error}`);
  }
}
rmSync(folder, { recursive: true });
process.exit(failed === 0 ? 0 : 1);
