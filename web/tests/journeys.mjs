// Journeys through the page by role, each checked by the command afterwards; axe on every view in light and dark.
// node tests/journeys.mjs PROGRAM [WORDS]: only what has these words in its name; SHOTS=FOLDER keeps a picture of each failure
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { openPage, openPhone } from "./door.mjs";
import { pdfOf } from "./pdf.mjs";
import { scenes } from "./scenes.mjs";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const DESKTOP = { width: 1440, height: 900 };
const PHONE = { width: 390, height: 844 };
const PATIENCE_MS = Number(process.env.PATIENCE_MS ?? 20_000); // more of it where others use the machine too

/** Every violation axe knows of on what is shown now, as text. */
async function violations(page) {
  // As the tool's own script, not the page's: the page's policy lets no foreign script in.
  await page.evaluate(axe);
  const { violations: found } = await page.evaluate(() =>
    globalThis.axe.run(document, {
      runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    }),
  );
  return found.flatMap((rule) => rule.nodes.map((node) => `${rule.id}: ${node.target} ${node.failureSummary}`));
}

/** Presses on a drawing and drags, both ends as shares of its box. */
async function drag(page, drawing, from, to) {
  await drawing.scrollIntoViewIfNeeded();
  const box = await drawing.boundingBox();
  const at = ([x, y]) => [box.x + box.width * x, box.y + box.height * y];
  await page.mouse.move(...at(from));
  await page.mouse.down();
  await page.mouse.move(...at(to), { steps: 5 });
  await page.mouse.up();
}

/** Does something that is written down, and waits until the page has read the book again. */
async function written(page, verb, act) {
  let sent = false;
  const read = page.waitForResponse((response) => {
    sent ||= response.url().endsWith(`/api/${verb}`);
    return sent && response.url().endsWith("/api/book");
  });
  await act();
  await (await read).finished();
  await page.evaluate(() => new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn))));
  await page.waitForTimeout(100);
}

const journeys = {
  async "open the demo and read a verdict"(door, page) {
    await page.getByRole("link", { name: "Jobs", exact: true }).click();
    await page.getByRole("heading", { level: 1, name: "What may I start?" }).waitFor();
    await page.getByRole("link", { name: /Two smoke alarms/ }).click();
    await page.getByRole("heading", { level: 2, name: "May start with these precautions" }).waitFor();
    assert.match(page.url(), /#\/jobs\/J1$/);
    const told = JSON.parse(door.lathbook("check", "J1", "--json").out);
    const main = page.getByRole("main");
    await main.getByText(told.sentence).waitFor();
    for (const step of told.precautions) assert.ok(await main.getByText(step, { exact: true }).isVisible(), step);
    for (const caution of told.cautions) assert.ok(await main.getByText(caution).isVisible(), caution);
    assert.equal(await main.getByRole("img", { name: /Plan of the/ }).count(), 1);
    await page.goBack();
    await page.getByRole("heading", { level: 1, name: "What may I start?" }).waitFor();
  },

  async "write down a suspicion, then check the book by the command"(door, page) {
    await page.goto(door.address("#/house/L1"));
    await page.getByRole("button", { name: "Dining room", exact: true }).click();
    const sheet = page.getByRole("complementary", { name: "Dining room" });
    await sheet.getByRole("button", { name: "Write down a material here" }).click();
    const form = page.getByRole("dialog");
    await form.getByRole("button", { name: "Save" }).click();
    await form.getByText("Fill this in.").first().waitFor(); // told beside the fields, nothing written
    await form.getByLabel("What you call it").fill("Boxed-in pipe by the hearth");
    await form.getByLabel("What it is").selectOption("insulating-board");
    await form.getByLabel("Ceiling, floor or wall").selectOption("wall-1");
    await form.getByLabel("Damage").selectOption("low");
    await form.getByRole("button", { name: "Save" }).click();
    const written = page.getByRole("complementary", { name: "Boxed-in pipe by the hearth" });
    await written.getByText("Presumed", { exact: true }).waitFor();
    const id = /M\d+$/.exec(page.url())[0];
    const told = JSON.parse(door.lathbook("show", id, "--json").out);
    assert.equal(told.name, "Boxed-in pipe by the hearth");
    assert.equal(told.family, "insulating-board");
    assert.match(door.lathbook("history").out, new RegExp(`add ${id}`));
    await page.getByRole("button", { name: /^Undo: add M/ }).click();
    await page.getByRole("status").getByText("Taken back", { exact: false }).waitFor();
    assert.equal(door.lathbook("show", id).status, 2); // not in the book
    await page.getByRole("button", { name: /^Redo: add M/ }).click();
    await page.getByRole("status").getByText("Done again", { exact: false }).waitFor();
    assert.equal(door.lathbook("show", id).status, 0);
  },

  async "enter a result and see what it moved"(door, page) {
    await page.goto(door.address("#/testing"));
    await page.getByRole("heading", { level: 1, name: "What is worth testing?" }).waitFor();
    const plan = JSON.parse(door.lathbook("test-plan", "--json").out);
    await page.locator(".test").first().waitFor();
    for (const test of plan.tests)
      assert.ok(await page.locator(".test", { hasText: test.material }).isVisible(), test.material);
    await page.getByRole("button", { name: "Enter its result: S1" }).click();
    const form = page.getByRole("dialog");
    await form.getByRole("button", { name: "Save" }).click();
    await form.getByText("Say what the laboratory found").waitFor();
    await form.getByLabel("Asbestos found").check();
    await form.getByLabel("Chrysotile").check();
    await form.getByRole("button", { name: "Save" }).click();
    const moved = page.getByRole("status", { name: "What this result moved" });
    await moved.getByText("Identified, ", { exact: false }).first().waitFor();
    const told = JSON.parse(door.lathbook("show", "M1", "--json").out);
    assert.equal(told.standing, "identified");
    await page.getByRole("button", { name: /^Undo: add result LR/ }).click();
    await page.getByRole("button", { name: "Enter its result: S1" }).waitFor();
  },

  async "read a laboratory's report, tick what it says and write it down"(door, page) {
    door.lathbook("add", "sample", "material=M10", "label=M10-1", "taken_on=2026-11-18");
    const added = JSON.parse(door.lathbook("export").out).samples.at(-1).id;
    await page.goto(door.address("#/testing"));
    await page.getByRole("button", { name: `Enter its result: ${added}` }).waitFor();
    const choose = page.getByLabel("Read a laboratory’s PDF");
    const pdf = (buffer) => ({ name: "report.pdf", mimeType: "application/pdf", buffer });
    await choose.setInputFiles(pdf(Buffer.from("<html>no asbestos detected</html>")));
    await page.getByText("is not a PDF by its first bytes", { exact: false }).waitFor();

    await choose.setInputFiles(
      pdf(
        pdfOf([
          "Identification of asbestos in bulk samples",
          "Date of report: 24 November 2026",
          "",
          "Sample                   Where           Result                    Amount",
          "S1 front room ceiling    Front room      Chrysotile                2 %",
          "M10-1                    Garage roof     No asbestos detected",
          "                                         in the paint",
          "Q7-3                     Elsewhere       No asbestos detected",
        ]),
      ),
    );
    const form = page.getByRole("dialog", { name: "What the laboratory’s report says" });
    const ceiling = form.getByRole("region", { name: /^S1 front room ceiling/ });
    const roof = form.getByRole("region", { name: /^M10-1/ });
    await ceiling.getByText("Asbestos found", { exact: true }).waitFor();
    assert.match(await ceiling.locator(".report-line").first().textContent(), /page 1, line 5.*Chrysotile +2 %/);
    await roof.getByText("Unclear: read it yourself").waitFor();
    assert.ok(await form.getByText("Q7-3", { exact: false }).isVisible());
    assert.equal(await form.getByRole("checkbox", { checked: true }).count(), 0); // nothing is ticked for anybody
    await form.getByRole("button", { name: "Write down what is ticked" }).click();
    await form.getByText("Tick what you have read yourself", { exact: true }).waitFor();

    await ceiling.getByRole("checkbox", { name: /^I have read it/ }).check();
    assert.ok(await ceiling.getByLabel("Chrysotile").isChecked());
    await roof.getByRole("checkbox", { name: /^I have read it/ }).check();
    assert.equal(await roof.getByRole("radio", { checked: true }).count(), 0); // the reader proposes nothing
    await form.getByRole("button", { name: "Write down 2 results" }).click();
    await form.getByText("Say what the laboratory found in M10-1").waitFor();
    assert.deepEqual(await violations(page), []);
    await roof.getByLabel("Asbestos found").check();
    await roof.getByLabel("Amosite").check();
    assert.equal(await form.getByLabel("Day of the report").inputValue(), "2026-11-24");
    await form.getByRole("button", { name: "Write down 2 results" }).click();
    const moved = page.getByRole("status", { name: "What this result moved" });
    await moved.getByText("Identified, ", { exact: false }).first().waitFor();

    const told = JSON.parse(door.lathbook("export").out);
    const document = told.documents.find((one) => one.kind === "laboratory report");
    assert.equal(document.title, "report.pdf");
    const of = (sample) => told.results.find((one) => one.sample === sample);
    const both = { found: true, document: document.id, reported_on: "2026-11-24" };
    assert.deepEqual(of("S1"), { ...both, id: of("S1").id, sample: "S1", fibres: ["chrysotile"], amount: "2 %" });
    assert.deepEqual(of(added), { ...both, id: of(added).id, sample: added, fibres: ["amosite"] });
    assert.equal(JSON.parse(door.lathbook("show", "M1", "--json").out).standing, "identified");
    assert.equal(door.lathbook("verify").status, 0);
    await page.getByRole("button", { name: /^Undo: results from a laboratory's report/ }).click();
    await page.getByRole("button", { name: "Enter its result: S1" }).waitFor();
    assert.equal(JSON.parse(door.lathbook("export").out).results.length, told.results.length - 2);
    door.lathbook("undo");
  },

  async "write down a sample that was taken"(door, page) {
    await page.goto(door.address("#/testing"));
    await page
      .getByRole("button", { name: /^Taken: write down sample/ })
      .first()
      .click();
    const form = page.getByRole("dialog");
    assert.equal(await form.getByLabel("Of which material").inputValue(), "M10");
    await form.getByLabel("Day it was taken").fill("2026-11-25");
    await form.getByRole("button", { name: "Save" }).click();
    await page.getByText("M10-1, Corrugated garage roof").waitFor();
    const history = door.lathbook("history").out;
    const id = /add (S\d+)/.exec(history)[1];
    const told = JSON.parse(door.lathbook("export", "--json").out || door.lathbook("export").out);
    assert.ok(told.samples.some((sample) => sample.id === id && sample.taken_on === "2026-11-25"));
    await page.getByRole("button", { name: new RegExp(`^Undo: add .*${id}`) }).click();
    await page.getByText("M10-1, Corrugated garage roof").waitFor({ state: "detached" });
  },

  async "a certificate's analyst is written down without leaving its form"(door, page) {
    await page.goto(door.address("#/jobs/brought-in"));
    await page.getByRole("button", { name: "Write down a certificate" }).click();
    const form = page.getByRole("dialog", { name: "Write down a certificate" });
    await form.getByLabel("Floor area of the enclosure, m²").fill("7.5");
    await form.getByRole("button", { name: "Write down the analyst" }).click();
    const firm = page.getByRole("dialog", { name: "Write down the analyst" });
    assert.equal(await firm.getByLabel("What they do").inputValue(), "analyst");
    // What must be filled in says so, to be read and to be heard.
    await firm
      .locator(".label", { hasText: "Name, or a word for them" })
      .getByText("needed", { exact: true })
      .waitFor();
    assert.equal(await firm.getByLabel("Name, or a word for them").getAttribute("aria-required"), "true");
    assert.equal(await firm.getByLabel("Licence or accreditation").getAttribute("aria-required"), null);
    assert.deepEqual(await violations(page), []);
    await firm.getByLabel("Name, or a word for them").fill("The air people");
    await written(page, "add", () => firm.getByRole("button", { name: "Save" }).click());
    await firm.waitFor({ state: "detached" });
    const added = JSON.parse(door.lathbook("export").out).parties.find((party) => party.name === "The air people");
    assert.equal(added.role, "analyst");
    assert.equal(await form.getByLabel("Whose").inputValue(), added.id);
    assert.equal(await form.getByLabel("Floor area of the enclosure, m²").inputValue(), "7.5");
    await form.getByRole("button", { name: "Cancel" }).click();
    await written(page, "undo", () => page.getByRole("button", { name: new RegExp(`^Undo: .*${added.id}`) }).click());
  },

  async "a firm is asked what its kind is asked"(door, page) {
    await page.goto(door.address("#/jobs/brought-in"));
    await page.getByRole("button", { name: "Write down a firm" }).click();
    const form = page.getByRole("dialog");
    await form.getByRole("button", { name: "More about it" }).click();
    await form.getByLabel("What they do").selectOption("laboratory");
    await form.getByLabel("Days a result takes").waitFor();
    await form.getByLabel("What they do").selectOption("carrier");
    await form.getByLabel("Days ahead they must be booked").waitFor();
    assert.equal(await form.getByText(/result|sample|order/).count(), 0);
    await form.getByRole("button", { name: "Cancel" }).click();
  },

  async "a piece of waste is offered how thick it usually is"(door, page) {
    await page.goto(door.address("#/waste"));
    await page.getByRole("button", { name: "Write down a piece" }).click();
    const form = page.getByRole("dialog");
    const thickness = form.getByLabel("Thickness, mm");
    const offered = form.getByRole("button", { name: /^Take [\d.]+ mm$/ });
    assert.equal(await offered.count(), 0); // of what, is not said yet
    const told = JSON.parse(door.lathbook("export").out);
    const [known, unknown] = [true, false].map((has) =>
      told.materials.find((one) => one.family === "insulating-board" && (one.thickness_mm !== undefined) === has),
    );
    await form.getByLabel("Of which material").selectOption(known.id);
    assert.deepEqual(await offered.allTextContents(), [`Take ${known.thickness_mm} mm`]);
    if (unknown) {
      await form.getByLabel("Of which material").selectOption(unknown.id);
      assert.deepEqual(await offered.allTextContents(), ["Take 6 mm", "Take 12.7 mm"]);
      await form.getByText("common practice of the trade").waitFor();
    }
    assert.equal(await thickness.inputValue(), ""); // nothing is filled in unasked
    const taken = /[\d.]+/.exec(await offered.last().textContent())[0];
    await offered.last().click();
    assert.equal(await thickness.inputValue(), taken);
    assert.equal(await offered.count(), 0);
    await form.getByRole("button", { name: "Cancel" }).click();
  },

  async "what was done is not told over a form's buttons"(door, page) {
    await page.goto(door.address("#/dust/new"));
    await page.getByRole("button", { name: "Add a person" }).click();
    const form = page.getByRole("dialog");
    await form.getByLabel("Name, or a word for them").fill("A lodger");
    await written(page, "add", () => form.getByRole("button", { name: "Save" }).click());
    const save = page.getByRole("button", { name: "Save" });
    await page.evaluate(() => window.scrollTo(0, document.body.scrollHeight));
    const said = page.locator(".said span");
    await said.waitFor();
    const [over, under] = [await said.boundingBox(), await save.boundingBox()];
    assert.ok(
      over.y + over.height <= under.y || over.y >= under.y + under.height || over.x + over.width <= under.x,
      JSON.stringify({ over, under }),
    );
    await written(page, "undo", () => page.getByRole("button", { name: /^Undo: add PE.*A lodger/ }).click());
  },

  async "see how waste lies in the van, and that the car takes none"(door, page) {
    await page.goto(door.address("#/waste"));
    await page.getByRole("img", { name: /^Trip 1 in the Hired long van/ }).waitFor();
    await page
      .getByLabel("Which vehicle, to which site")
      .selectOption({ label: "Estate car, seats down to The council's recycling centre" });
    await page.getByText("Takes none of it.").waitFor();
    assert.ok(await page.getByText(/W1 will not go/).isVisible());
    const told = JSON.parse(door.lathbook("waste", "--json").out);
    assert.deepEqual(
      told.runs.map((run) => run.trips.length),
      [1, 0],
    );
    assert.ok(await page.getByText("Licensed carrier.", { exact: true }).isVisible());
  },

  async "look at a paper and save it"(door, page) {
    await page.goto(door.address("#/papers"));
    await page.getByRole("link", { name: /^Handover pack/ }).click();
    await page.getByRole("img", { name: "Page 1 of handover.pdf" }).waitFor();
    await page.getByLabel("Health", { exact: true }).check();
    await page.getByRole("img", { name: "Page 1 of handover.pdf" }).waitFor();
    const [download] = await Promise.all([
      page.waitForEvent("download"),
      page.getByRole("link", { name: "Save handover.pdf" }).click(),
    ]);
    const bytes = readFileSync(await download.path());
    assert.equal(bytes.subarray(0, 5).toString(), "%PDF-");
    const made = door.papers("handover", "--without", "health");
    assert.ok(bytes.equals(made("handover.pdf")), "the same bytes as the command's");
    await page.getByRole("link", { name: "Two smoke alarms on the hall ceiling" }).click();
    await page.getByRole("img", { name: "Page 2 of brief-J1.pdf" }).waitFor();
  },

  async "read the order of work"(door, page) {
    await page.goto(door.address("#/jobs"));
    await page.getByRole("link", { name: "In which order, and when" }).click();
    await page.getByRole("heading", { level: 1, name: "When can each job start?" }).waitFor();
    const told = JSON.parse(door.lathbook("timeline", "--json").out);
    const jobs = told.activities.filter((row) => row.job).map((row) => row.name);
    await page.getByRole("main").getByRole("heading", { level: 2 }).first().waitFor();
    const shown = await page.getByRole("main").getByRole("heading", { level: 2 }).allTextContents();
    assert.deepEqual(
      shown.map((words) => words.replace(/ J\d+$/, "")),
      jobs,
    );
  },

  async "the first ten minutes, in one tap from anywhere"(door, page) {
    await page.goto(door.address("#/jobs"));
    await page.getByRole("link", { name: "Just disturbed something?" }).click();
    await page.getByRole("heading", { level: 1, name: "The next ten minutes" }).waitFor();
    const worst = door.without_book("event", "--now", "--large").replace(/\s+/g, " ");
    await page.locator(".at-once li").first().waitFor();
    const steps = await page.locator(".at-once li").allTextContents();
    assert.ok(steps.length > 5);
    for (const step of steps) assert.ok(worst.includes(step.replace(/\s+/g, " ")), step);
    await page.getByText("Firmly bound").click();
    await page.getByText("A little: a hole or two, a broken corner").click();
    assert.notDeepEqual(await page.locator(".at-once li").allTextContents(), steps);
  },

  async "write down what happened and read what it came to"(door, page) {
    await page.goto(door.address("#/dust"));
    await page.getByRole("link", { name: "Write down what happened" }).click();
    await page.getByRole("button", { name: "Save" }).click();
    // What is wanting is told beside its field, in sight, until it is filled.
    const words = page.getByLabel("In a few words");
    await page.waitForFunction((field) => document.activeElement === field, await words.elementHandle());
    assert.equal(await words.getAttribute("aria-invalid"), "true");
    const wanting = await page.getByText("Not answered yet.").count();
    assert.ok(wanting >= 5, "title, task, room, face and where each person was");
    await words.fill("Drilled the ceiling boards");
    assert.equal(await page.getByText("Not answered yet.").count(), wanting - 1);
    await page.getByLabel("What was disturbed").selectOption("M14");
    await page.getByLabel("What was done to it").selectOption("drill");
    const robin = page.getByRole("group", { name: "Robin" });
    for (const person of JSON.parse(door.lathbook("export").out).people)
      await page.getByRole("group", { name: person.name }).getByLabel("Where").selectOption("Not in the house");
    await robin.getByLabel("Where").selectOption("R5");
    await robin.getByLabel("Mask").selectOption("ffp3");
    await robin.getByLabel("Did the work").check();
    await page.getByRole("button", { name: "Save" }).click();
    await page.getByRole("heading", { level: 1, name: "Drilled the ceiling boards" }).waitFor();
    await page.getByRole("img", { name: /^Level in Kitchen extension over time/ }).waitFor();
    await page.getByRole("img", { name: /^Added lifetime risk of Robin/ }).waitFor();
    const id = /E\d+$/.exec(page.url())[0];
    const told = JSON.parse(door.lathbook("export").out).events.find((event) => event.id === id);
    assert.deepEqual(told.stays, [{ person: "PE1", room: "R5", from_min: 0, to_min: 60, at_the_work: true }]);
    // Trying something else writes nothing down.
    await page.getByLabel("Kept wet").check();
    await page.getByText("As tried below, not as it happened.").waitFor();
    assert.deepEqual(
      JSON.parse(door.lathbook("export").out).events.find((event) => event.id === id),
      told,
    );
    await page.getByRole("button", { name: "Back to how it was" }).click();
    // It took longer than was written down at first.
    await page.getByRole("button", { name: "Change", exact: true }).click();
    await page.getByLabel("For how many minutes").fill("40");
    await written(page, "set", () => page.getByRole("button", { name: "Save" }).click());
    await page.getByRole("heading", { level: 1, name: "Drilled the ceiling boards" }).waitFor();
    const changed = JSON.parse(door.lathbook("export").out).events.find((event) => event.id === id);
    assert.deepEqual(changed, { ...told, cuts: [{ ...told.cuts[0], minutes: 40 }] });
    await page.getByRole("button", { name: new RegExp(`^Undo: change .*${id}`) }).click();
    await page.getByRole("button", { name: new RegExp(`^Undo: add .*${id}`) }).click();
    await page.getByRole("heading", { level: 1, name: "What did I breathe?" }).waitFor();
  },

  async "a form that is not taken shows what is wrong, wherever it was scrolled to"(door, page) {
    await page.goto(door.address("#/house/L1"));
    await page.getByRole("button", { name: "Write down a material" }).click();
    const form = page.getByRole("dialog");
    assert.equal(await form.getByLabel("Room").inputValue(), "", "no room is taken for chosen");
    await form.getByRole("button", { name: "More about it" }).click();
    await form.getByLabel("Notes").fill("Seen from the stairs");
    await form.getByRole("button", { name: "Save" }).click();
    const name = form.getByLabel("What you call it");
    await page.waitForFunction((field) => document.activeElement === field, await name.elementHandle());
    const at = await name.boundingBox();
    assert.ok(at.y >= 0 && at.y < page.viewportSize().height, "the first fault is in sight");
    await form.getByText("Fill this in.").waitFor();
    assert.ok((await form.getByText("Choose one.").count()) >= 2);
    await form.getByRole("button", { name: "Cancel" }).click();
  },

  async "a cut has no verdict before its room is chosen"(door, page) {
    await page.goto(door.address("#/jobs"));
    await page.getByRole("button", { name: "Write down a job" }).click();
    const form = page.getByRole("dialog");
    await form.getByLabel("The work in a few words").fill("A shelf");
    await written(page, "add", () => form.getByRole("button", { name: "Save" }).click());
    await page.getByRole("heading", { level: 2, name: "Not judged yet" }).waitFor();
    await page.getByRole("button", { name: "Add a cut" }).click();
    await form.getByText("Choose the room, and read here what it would meet.").waitFor();
    await form.getByRole("button", { name: "Add this cut" }).click();
    await form.getByText("Choose one.").waitFor();
    assert.equal(JSON.parse(door.lathbook("export").out).jobs.find((job) => job.title === "A shelf").cuts, undefined);
    await form.getByRole("button", { name: "Cancel" }).click();
    await page.getByRole("button", { name: /^Undo: add J/ }).click();
  },

  async "draw a hole and watch the verdict"(door, page) {
    await page.goto(door.address("#/jobs/J3"));
    const before = door.lathbook("check", "J3").status;
    assert.equal(before, 0);
    await page.getByRole("button", { name: "Add a cut" }).click();
    const form = page.getByRole("dialog");
    await form.getByLabel("Room").selectOption({ label: "Kitchen" });
    await form.getByLabel("Ceiling, floor or wall").selectOption("ceiling");
    await form.getByLabel("How deep").selectOption("through");
    const live = form.getByRole("status");
    await live.getByRole("listitem").filter({ hasText: "Wrapped heating pipe over the kitchen" }).waitFor(); // anywhere on it: taken for the worst
    const face = form.getByRole("img", { name: /^The ceiling of Kitchen/ });
    await face.click();
    assert.notEqual(await form.getByLabel("across, m").inputValue(), "");
    await form.getByLabel("across, m").fill("6.2");
    await form.locator("[role=status][aria-busy=false]").waitFor();
    const told = await live.getByRole("heading").textContent();
    await form.getByRole("button", { name: "Add this cut" }).click();
    await page.getByRole("heading", { level: 2, name: told }).waitFor();
    const answer = JSON.parse(door.lathbook("check", "J3", "--json").out);
    assert.equal(answer.verdict.toLowerCase(), told.toLowerCase());
    await page.getByRole("button", { name: /^Undo: add cut \d+ of job J3/ }).click();
    await page.getByText(/Taken back: add cut \d+ of job J3/).waitFor();
    await page.getByRole("heading", { level: 2, name: "May start" }).waitFor();
    assert.equal(door.lathbook("check", "J3").status, before);
  },

  async "what nothing is written down of is written down from the job, and a cut taken out again"(door, page) {
    await page.goto(door.address("#/jobs/J3"));
    await page.getByRole("button", { name: "Add a cut" }).click();
    const cut = page.getByRole("dialog");
    await cut.getByLabel("Room").selectOption({ label: "Dining room" });
    await cut.getByLabel("Ceiling, floor or wall").selectOption("floor");
    await cut.locator("[role=status][aria-busy=false]").waitFor();
    await written(page, "add", () => cut.getByRole("button", { name: "Add this cut" }).click());
    await page.getByText("Nothing is written down of the floor of the Dining room.").waitFor();
    assert.equal(await page.getByText(/lathbook (add|set|check)/).count(), 0, "the page does it itself");
    await page.getByRole("button", { name: /^Looked at it: Look at floor of R/ }).click();
    const form = page.getByRole("dialog");
    await form.getByLabel("What you call it").fill("Dining room floor covering");
    await form.getByLabel("What it is").selectOption("vinyl-tile");
    assert.equal(await form.getByLabel("Ceiling, floor or wall").inputValue(), "floor");
    await written(page, "add", () => form.getByRole("button", { name: "Save" }).click());
    await page.getByRole("listitem").filter({ hasText: "Dining room floor covering" }).first().waitFor();
    const made = JSON.parse(door.lathbook("export").out).materials.find(
      (one) => one.name === "Dining room floor covering",
    );
    const touched = JSON.parse(door.lathbook("check", "J3", "--json").out).touches;
    assert.ok(touched.some((one) => one.material === made.id));
    // Whoever writes it down has just looked at it.
    assert.ok(JSON.parse(door.lathbook("show", made.id, "--json").out).next_look > made.last_inspected);
    const cuts = () => JSON.parse(door.lathbook("export").out).jobs.find((job) => job.id === "J3").cuts.length;
    const before = cuts();
    await written(page, "remove", () =>
      page.getByRole("button", { name: new RegExp(`^Remove cut ${before}: `) }).click(),
    );
    assert.equal(cuts(), before - 1);
    assert.equal(door.lathbook("remove", made.id).status, 0);
  },

  async "without a carrier or a price the page asks for them itself"(door, page) {
    await page.goto(door.address("#/waste"));
    const carrier = JSON.parse(door.lathbook("export").out).parties.find((party) => party.role === "carrier");
    assert.equal(door.lathbook("remove", carrier.id).status, 0);
    await page.reload();
    await page.getByText("No carrier is written down to compare with.").waitFor();
    await page.getByRole("button", { name: "Write down a carrier" }).click();
    const form = page.getByRole("dialog");
    await form.getByLabel("Name, or a word for them").fill("Another carrier");
    await written(page, "add", () => form.getByRole("button", { name: "Save" }).click());
    const parties = JSON.parse(door.lathbook("export").out).parties;
    assert.equal(parties.find((party) => party.name === "Another carrier").role, "carrier");
    assert.equal(door.lathbook("set", "about", "test_each=").status, 0);
    await page.goto(door.address("#/testing"));
    await page.getByRole("heading", { name: "No test can be weighed yet." }).waitFor();
    await page.getByRole("main").getByRole("button", { name: "What a test costs" }).last().click();
    const prices = page.getByRole("dialog");
    await prices.getByLabel("Each sample").fill("28");
    await written(page, "set", () => prices.getByRole("button", { name: "Save" }).click());
    await page.locator(".test").first().waitFor();
  },

  async "a look at a piece is written down beside the day it is due"(door, page) {
    const looks = () =>
      (JSON.parse(door.lathbook("export").out).inspections ?? []).filter((one) => one.material === "M9");
    const next = () => JSON.parse(door.lathbook("show", "M9", "--json").out).next_look;
    const before = { looks: looks().length, next: next() };
    await page.goto(door.address("#/house/L1/M9"));
    const sheet = page.getByRole("complementary").filter({ hasText: "M9" });
    await sheet.getByText(/^Look at it again by /).waitFor();
    await sheet.getByRole("button", { name: "Looked at it" }).click();
    const form = page.getByRole("dialog", { name: /^Looked at: / });
    const today = new Date().toISOString().slice(0, 10);
    assert.equal(await form.getByLabel("Day of the look").inputValue(), today);
    await form.getByLabel("Damage, as it is now").selectOption("medium");
    assert.deepEqual(await violations(page), []);
    await written(page, "add", () => form.getByRole("button", { name: "Save" }).click());
    assert.equal(looks().length, before.looks + 1);
    const { id, ...look } = looks().at(-1);
    assert.deepEqual(look, { material: "M9", on: today, damage: "medium" });
    assert.ok(next() > today && next() !== before.next, `${before.next}, then ${next()}`);
    await written(page, "undo", () => page.getByRole("button", { name: `Undo: add look ${id}` }).click());
    assert.equal(looks().length, before.looks);
  },

  async "all samples that are worth it are planned at one go, and their labels are there"(door, page) {
    const planned = () => JSON.parse(door.lathbook("export").out).samples.filter((one) => /^M\d+-\d+$/.test(one.label));
    const before = planned().length;
    const asked = JSON.parse(door.lathbook("test-plan", "--json").out).tests.flatMap((test) => test.spots);
    await page.goto(door.address("#/testing"));
    const plan = page.getByRole("button", { name: /^Plan th(is|ese \d+) samples?$/ });
    await written(page, "several", () => plan.click());
    assert.deepEqual(
      planned()
        .slice(before)
        .map((one) => [one.label, one.spot, one.taken_on]),
      asked.map((spot) => [spot.label, spot.words.slice(0, 200), undefined]),
    );
    await page.getByText(`Planned: ${asked.map((spot) => spot.label).join(", ")}.`).waitFor();
    assert.equal(await plan.count(), 0); // and not a second time
    // Taken, it is the planned sample that gets its day.
    await page.getByRole("button", { name: `Taken: write down sample ${asked[0].label}` }).click();
    const form = page.getByRole("dialog");
    await written(page, "set", () => form.getByRole("button", { name: "Save" }).click());
    assert.equal(planned().length, before + asked.length);
    assert.equal(planned()[before].taken_on, new Date().toISOString().slice(0, 10));
    await page.locator(".verdict").getByRole("link", { name: "Labels for the bags" }).click();
    await page.getByRole("img", { name: "Page 1 of sample-labels.pdf" }).waitFor();
    for (let i = 0; i < 2; ++i)
      await written(page, "undo", () => page.getByRole("button", { name: /^Undo: / }).click());
    assert.equal(planned().length, before);
  },

  async "take a way on: it becomes samples to take"(door, page) {
    await page.goto(door.address("#/jobs/J2"));
    await page.getByRole("button", { name: /^Plan these samples: Test M9/ }).click();
    await page.getByRole("status").getByText("Done: plan 7 samples", { exact: false }).waitFor();
    const planned = () =>
      JSON.parse(door.lathbook("export").out).samples.filter((sample) => /^M(9|11)-\d$/.test(sample.label));
    // As many of each as the way says it takes, and not to be planned a second time.
    const told = JSON.parse(door.lathbook("check", "J2", "--json").out).ways_on.find((way) => way.kind === "test");
    assert.match(told.text, new RegExp(`${planned().length} samples`));
    assert.deepEqual([...new Set(planned().map((sample) => sample.material))].sort(), ["M11", "M9"]);
    await page.getByText(/^Planned: M9-1, .*M11-1/).waitFor();
    assert.equal(await page.getByRole("button", { name: /^Plan these samples: Test M9/ }).count(), 0);
    await written(page, "undo", () => page.getByRole("button", { name: "Undo: plan 7 samples" }).click());
    assert.equal(planned().length, 0);
  },

  async "walk through a room: none seen, cannot tell, yes"(door, page) {
    const verdicts = () =>
      ["J1", "J2", "J3"].map((job) => JSON.parse(door.lathbook("check", job, "--json").out).verdict);
    const before = verdicts();
    await page.goto(door.address("#/house/L1/R3"));
    await page.getByRole("button", { name: "Walk through this room" }).click();
    const walk = page.getByRole("complementary", { name: "What is in: Dining room?" });
    const begun = Number((await walk.getByText(/^\d+ of \d+ answered$/).textContent()).split(" ")[0]);
    const answered = (more) => walk.getByText(new RegExp(`^${begun + more} of \\d+ answered$`)).waitFor();
    assert.deepEqual(await violations(page), []);
    const asked = (name) => walk.getByRole("listitem", { name, exact: true });
    await asked("millboard").getByRole("button", { name: "None seen" }).click();
    await asked("millboard")
      .getByText(/^None seen, /)
      .waitFor();
    await asked("textured decorative coating").getByRole("button", { name: "Can’t tell" }).click();
    await asked("textured decorative coating")
      .getByRole("button", { name: "Write it down: textured decorative coating" })
      .click();
    const form = page.getByRole("dialog");
    assert.equal(await form.getByLabel("What it is").inputValue(), "textured-coating");
    await form.getByLabel("Ceiling, floor or wall").selectOption("ceiling");
    await form.getByRole("button", { name: "Save" }).click();
    await asked("textured decorative coating").getByText("Written down:").waitFor();
    await answered(2);
    const told = JSON.parse(door.lathbook("export").out);
    assert.match(
      told.rooms.find((room) => room.id === "R3").notes,
      /^Looked for millboard: none seen, \d{4}-\d\d-\d\d\.\nLooked for textured decorative coating: cannot tell, /,
    );
    const written = told.materials.find((one) => one.room === "R3" && one.family === "textured-coating");
    assert.equal(written.notes, "Could not be told by looking.");
    assert.deepEqual(verdicts(), before); // no answer releases anything
    await page.getByRole("button", { name: /^Undo: add M/ }).click();
    await asked("textured decorative coating").getByText("Written down:").waitFor({ state: "detached" });
    await page.getByRole("button", { name: /^Undo: change R3/ }).click();
    await answered(1);
    await page.getByRole("button", { name: /^Undo: change R3/ }).click();
    await answered(0);
  },

  async "none of the rest of a walk is one step"(door, page) {
    const notes = () => JSON.parse(door.lathbook("export").out).rooms.find((room) => room.id === "R3").notes ?? "";
    const before = notes();
    await page.goto(door.address("#/house/L1/R3"));
    await page.getByRole("button", { name: "Walk through this room" }).click();
    const walk = page.getByRole("complementary", { name: "What is in: Dining room?" });
    const rest = walk.getByRole("button", { name: /^None of the other \d+ seen here$/ });
    const left = Number(/\d+/.exec(await rest.textContent())[0]);
    assert.ok(left > 1);
    await written(page, "look", () => rest.click());
    await rest.waitFor({ state: "detached" });
    const lines = (words) => words.split("\n").filter((line) => /^Looked for .*: none seen, /.test(line)).length;
    assert.equal(lines(notes()), lines(before) + left);
    await written(page, "undo", () => page.getByRole("button", { name: /^Undo: change R3/ }).click());
    assert.equal(notes(), before);
    await rest.waitFor();
  },

  async "change a room's shape by dragging, by arrow keys and by typing"(door, page) {
    const outline = (id) => JSON.parse(door.lathbook("export").out).rooms.find((room) => room.id === id).outline;
    await page.goto(door.address("#/house/L1/R6"));
    await page.getByRole("button", { name: "Change its shape" }).click();
    const sheet = page.getByRole("complementary", { name: "Shape of: Garage" });
    const corner = page.getByRole("button", { name: /^Corner 3, at/ });
    await corner.waitFor();
    assert.deepEqual(await violations(page), []);
    // Dragged near the height of the garage's own far wall and 40 cm out: it rests in line.
    await corner.scrollIntoViewIfNeeded();
    const grip = await corner.locator(".dot").boundingBox();
    const wall = await page
      .getByRole("button", { name: /^Wall 3, 2.80 m/ })
      .locator(".touch")
      .boundingBox();
    const metre = (grip.x + grip.width / 2 - (wall.x + wall.width / 2)) / 1.4;
    await page.mouse.move(grip.x + grip.width / 2, grip.y + grip.height / 2);
    await page.mouse.down();
    await page.mouse.move(grip.x + grip.width / 2 + metre * 0.4, grip.y + grip.height / 2 + 1, { steps: 5 });
    await page.mouse.up();
    await page.getByRole("button", { name: "Undo: shape of Garage" }).waitFor();
    const dragged = outline("R6");
    assert.ok(Math.abs(dragged[2][0] - 10.6) < 0.101, String(dragged));
    assert.equal(dragged[2][1], 8.4);
    await page.getByRole("button", { name: "Undo: shape of Garage" }).click();
    await page.getByRole("button", { name: "Corner 3, at 10.20 m, 8.40 m: move it with the arrow keys" }).focus();
    await page.keyboard.press("ArrowRight");
    await page.keyboard.press("ArrowRight");
    await page.keyboard.press("ArrowUp");
    await page.getByRole("button", { name: "Undo: shape of Garage" }).waitFor();
    assert.deepEqual(outline("R6")[2], [10.3, 8.45]); // three presses, one step
    await page.getByRole("button", { name: "Undo: shape of Garage" }).click();
    await page.getByRole("button", { name: "Corner 3, at 10.20 m, 8.40 m: move it with the arrow keys" }).waitFor();
    await sheet.getByRole("textbox", { name: "Wall 1" }).fill("3.5");
    await sheet.getByRole("textbox", { name: "Wall 1" }).press("Enter");
    await page.getByRole("button", { name: "Undo: shape of Garage" }).waitFor();
    assert.deepEqual(outline("R6"), [
      [7.4, 3],
      [10.9, 3],
      [10.9, 8.4],
      [7.4, 8.4],
    ]);
    await sheet.getByRole("textbox", { name: "Its left edge" }).fill("5");
    await sheet.getByRole("textbox", { name: "Its left edge" }).press("Enter");
    await sheet.getByText("overlaps", { exact: false }).first().waitFor(); // the program's own words, and nothing written
    await sheet.getByRole("button", { name: "Put it back" }).click();
    // Undo is of the book as last read: the page has to have read it again.
    let kept = false;
    const read = page.waitForResponse((response) => {
      kept ||= response.url().endsWith("/api/several");
      return kept && response.url().endsWith("/api/book");
    });
    await sheet.getByRole("button", { name: "Part wall 2 with a corner" }).click();
    await read;
    await page.getByRole("button", { name: /^Corner 5, at/ }).waitFor();
    await page.waitForTimeout(100);
    assert.equal(outline("R6").length, 5);
    await page.getByRole("button", { name: "Undo: shape of Garage" }).click();
    await page.getByRole("button", { name: /^Corner 5, at/ }).waitFor({ state: "detached" });
    await page.getByRole("button", { name: "Undo: shape of Garage" }).click();
    await page.getByRole("button", { name: /^Wall 1, 2.80 m/ }).waitFor();
    assert.deepEqual(outline("R6"), [
      [7.4, 3],
      [10.2, 3],
      [10.2, 8.4],
      [7.4, 8.4],
    ]);
  },

  async "a photo goes with a material that is being written down"(door, page) {
    await page.goto(door.address("#/house/L1/R3"));
    const open = () =>
      page
        .getByRole("complementary", { name: "Dining room", exact: true })
        .getByRole("button", { name: "Write down a material here" })
        .click();
    await open();
    const form = page.getByRole("dialog");
    await form.getByLabel("What you call it").fill("Panel in the alcove");
    await form.getByLabel("What it is").selectOption("insulating-board");
    await form.getByLabel("Ceiling, floor or wall").selectOption("wall-2");
    // One that is no photo: the material is kept, the photo told of, and another may go instead.
    await form
      .getByLabel("Add a photo")
      .setInputFiles({ name: "no.jpg", mimeType: "image/jpeg", buffer: Buffer.from("<svg/>") });
    await form.getByText("no.jpg goes with it.").waitFor();
    await form.getByRole("button", { name: "Save" }).click();
    await form.getByText("It is written down, but its photo was not kept:").waitFor();
    const told = () => JSON.parse(door.lathbook("export").out);
    const made = () => told().materials.filter((one) => one.name === "Panel in the alcove");
    assert.equal(made().length, 1);
    await form.getByLabel("Another photo").setInputFiles({ name: "alcove.png", mimeType: "image/png", buffer: DOT });
    assert.deepEqual(await violations(page), []);
    await written(page, "photo", () => form.getByRole("button", { name: "Save" }).click());
    await page
      .getByRole("complementary", { name: "Panel in the alcove" })
      .getByRole("img", { name: /^Panel in the alcove, / })
      .waitFor();
    assert.equal(made().length, 1);
    const photos = told().documents.filter((one) => one.material === made()[0].id);
    assert.deepEqual(
      photos.map((one) => [one.kind, one.title]),
      [["photo", "Panel in the alcove"]],
    );
    for (let i = 0; i < 2; ++i)
      await written(page, "undo", () => page.getByRole("button", { name: /^Undo: / }).click());
    assert.equal(made().length, 0);
  },

  async "keep photos of a material, then and now"(door, page) {
    await page.goto(door.address("#/house/L1/M14"));
    const sheet = page.getByRole("complementary", { name: "Ceiling boards, kitchen extension" });
    const file = sheet.getByLabel("Add a photo");
    await file.setInputFiles({ name: "holiday.jpg", mimeType: "image/jpeg", buffer: Buffer.from("<svg/>") });
    await sheet.getByText("is not a photo", { exact: false }).waitFor(); // by its content, whatever it is called
    await file.setInputFiles({ name: "one.png", mimeType: "image/png", buffer: DOT });
    await sheet.getByRole("img", { name: /^Ceiling boards, kitchen extension, / }).waitFor();
    await file.setInputFiles({ name: "two.png", mimeType: "image/png", buffer: DOT });
    await sheet.getByLabel("How much of the earlier photo is seen").waitFor();
    const documents = () =>
      (JSON.parse(door.lathbook("export").out).documents ?? []).filter((one) => one.material === "M14");
    const [first] = documents();
    assert.deepEqual(
      documents().map((one) => one.media_type),
      ["image/jpeg", "image/jpeg"],
    );
    await sheet.getByText("Days, and removing").click();
    await sheet.getByLabel(`Day of ${first.id}`).fill("2019-05-04");
    await sheet.getByText("4 May 2019").first().waitFor();
    assert.equal(documents()[0].dated, "2019-05-04");
    await sheet.getByLabel("How much of the earlier photo is seen").fill("80");
    assert.deepEqual(await violations(page), []);
    for (const one of documents()) await sheet.getByRole("button", { name: `Remove photo ${one.id}` }).click();
    await sheet.getByText("No photo yet.", { exact: false }).waitFor();
    assert.deepEqual(documents(), []);
  },

  async "find a material by its name and a job by its id, with the keyboard"(door, page) {
    const find = page.getByRole("combobox", { name: "Find a room, material or job" });
    await find.fill("boards ext");
    await page.getByRole("option", { name: /^Ceiling boards, kitchen extension/ }).waitFor();
    assert.deepEqual(await violations(page), []);
    await find.press("Enter");
    await page.getByRole("complementary", { name: "Ceiling boards, kitchen extension" }).waitFor();
    assert.equal(
      JSON.parse(door.lathbook("show", /M\d+$/.exec(page.url())[0], "--json").out).name,
      "Ceiling boards, kitchen extension",
    );
    await find.fill("j");
    await find.press("ArrowDown");
    await find.press("Enter");
    await page.waitForURL(/#\/jobs\/J2$/);
    await find.fill("nowhere");
    await page.getByText("Nothing of that name is in the book.").waitFor();
  },

  async "see what backs on to a room"(door, page) {
    await page.goto(door.address("#/house/L1/R4"));
    const strip = page.getByRole("figure").filter({ has: page.getByRole("heading", { name: "What backs on to it" }) });
    await strip.getByRole("img", { name: /^The house cut open through Kitchen/ }).waitFor();
    await strip.getByText("Void over the kitchen", { exact: true }).last().waitFor();
    // The front room reaches 60 cm behind the kitchen's near wall; over the cupboard nothing is drawn.
    const told = async (title) =>
      strip
        .locator("div", { has: page.getByText(title, { exact: true }) })
        .last()
        .locator("dd")
        .textContent();
    assert.equal(await told("Over its ceiling"), "Void over the kitchen");
    assert.equal(await told("Under its floor"), "the ground");
    assert.equal(
      await told("Behind wall 1"),
      "Hall, Cupboard under the stairs, Front room, nothing drawn behind 0.4 m²",
    );
    assert.equal(await told("Behind wall 2"), "outdoors or next door: nothing is drawn there");
    const outline = (id) => JSON.parse(door.lathbook("export").out).rooms.find((room) => room.id === id).outline;
    assert.deepEqual(
      [outline("R2")[2], outline("R4")[0]],
      [
        [4.2, 4],
        [3.6, 4],
      ],
    );
    await strip.getByRole("radio", { name: "Front to back" }).click();
    await strip.getByRole("img", { name: /^The house cut open through Kitchen/ }).waitFor();
  },

  async "draw where a material is: tapped on the ceiling, typed on the wall"(door, page) {
    const shape = (id) => JSON.parse(door.lathbook("export").out).materials.find((one) => one.id === id).shape;
    await page.goto(door.address("#/house/L1/M1"));
    await page.getByRole("button", { name: "Draw where it is" }).click();
    const form = page.getByRole("dialog");
    await form.getByRole("button", { name: "A rectangle" }).click();
    await form.getByRole("button", { name: "Save" }).click();
    await form.getByText("Draw it first", { exact: false }).waitFor();
    const face = await form.getByRole("img", { name: /^The ceiling of / }).boundingBox();
    await page.mouse.click(face.x + face.width * 0.48, face.y + face.height * 0.48);
    await page.mouse.click(face.x + face.width * 0.55, face.y + face.height * 0.6);
    await form.getByRole("textbox", { name: "First, across" }).fill("0.5");
    await form.getByRole("textbox", { name: "First, up" }).fill("0.5");
    await form.getByRole("textbox", { name: "Second, across" }).fill("1.5");
    await form.getByRole("textbox", { name: "Second, up" }).fill("2");
    await form.getByRole("textbox", { name: "Second, up" }).press("Enter");
    assert.deepEqual(await violations(page), []);
    await form.getByRole("button", { name: "Save" }).click();
    await form.waitFor({ state: "detached" });
    assert.deepEqual(shape("M1"), {
      outline: [
        [0.5, 0.5],
        [1.5, 0.5],
        [1.5, 2],
        [0.5, 2],
      ],
    });
    await page.getByRole("button", { name: /^Undo: change M1,/ }).click();
    await page.getByRole("status").first().getByText("Taken back", { exact: false }).waitFor();
    assert.equal(shape("M1"), undefined);
  },

  async "draw where a material is: dragged as a rectangle, any outline by its corners"(door, page) {
    const shape = (id) => JSON.parse(door.lathbook("export").out).materials.find((one) => one.id === id).shape;
    await page.goto(door.address("#/house/L1/M1"));
    await page.getByRole("button", { name: "Draw where it is" }).click();
    const form = page.getByRole("dialog");
    await form.getByRole("button", { name: "A rectangle" }).click();
    const face = form.getByRole("img", { name: /^The ceiling of / });
    await drag(page, face, [0.45, 0.4], [0.55, 0.7]);
    const size = await form.locator(".drawn-size").textContent();
    assert.match(size, /^\d\.\d\d m × \d\.\d\d m, \d+\.\d\d m²$/);
    assert.deepEqual(await violations(page), []);
    await form.getByRole("button", { name: "Save" }).click();
    await form.waitFor({ state: "detached" });
    const [[x0, y0], [x1], [, y1]] = shape("M1").outline;
    assert.equal(`${(x1 - x0).toFixed(2)} m × ${(y1 - y0).toFixed(2)} m`, size.split(",")[0]);
    await page.getByRole("button", { name: /^Undo: change M1,/ }).click();
    await page.getByRole("status").first().getByText("Taken back", { exact: false }).waitFor();
    await page.getByRole("button", { name: "Draw where it is" }).click();
    await form.getByRole("button", { name: "Any outline" }).click();
    const box = await face.boundingBox();
    const side = Math.min(box.width, box.height);
    const at = ([x, y]) => [box.x + box.width / 2 + x * side, box.y + box.height / 2 + y * side];
    for (const corner of [
      [-0.3, 0.3],
      [0.3, 0.3],
      [0, -0.3],
    ])
      await page.mouse.click(...at(corner));
    assert.equal(await form.getByRole("textbox", { name: /^Corner \d, across/ }).count(), 3);
    const before = await form.getByRole("textbox", { name: "Corner 3, up" }).inputValue();
    // Its third corner, dragged.
    await page.mouse.move(...at([0, -0.3]));
    await page.mouse.down();
    await page.mouse.move(...at([0, -0.1]), { steps: 4 });
    await page.mouse.up();
    assert.notEqual(await form.getByRole("textbox", { name: "Corner 3, up" }).inputValue(), before);
    await form.getByRole("button", { name: "Save" }).click();
    await form.waitFor({ state: "detached" });
    assert.equal(shape("M1").outline.length, 3);
    await page.getByRole("button", { name: /^Undo: change M1,/ }).click();
    await page.getByRole("status").first().getByText("Taken back", { exact: false }).waitFor();
    assert.equal(shape("M1"), undefined);
  },

  async "a window drawn along its wall, slid, sized and removed"(door, page) {
    const openings = () => JSON.parse(door.lathbook("export").out).openings;
    const now = (id) => openings().find((one) => one.id === id);
    await page.goto(door.address("#/house/L1/R3"));
    await page.getByRole("button", { name: "Add a door or window" }).click();
    const form = page.getByRole("dialog");
    await form.getByText("Leads to: Front room.").waitFor(); // a door, in the first wall, to what backs on to it
    await form.getByLabel("What it is").selectOption("window");
    await form.getByLabel("In which wall").selectOption({ label: "wall 4: outdoors" });
    await form.getByText("Leads to: outdoors.").waitFor();
    const face = form.getByRole("group", { name: /^The wall 4 of Dining room/ });
    await drag(page, face, [0.3, 0.5], [0.6, 0.5]);
    await form.getByRole("textbox", { name: "Width" }).fill("1.5");
    await form.getByRole("textbox", { name: "Width" }).press("Enter");
    assert.deepEqual(await violations(page), []);
    await form.getByRole("button", { name: "Add the window" }).click();
    const sheet = page.getByRole("complementary", { name: "Window, Dining room to outdoors" });
    await sheet.waitFor();
    const id = /O\d+$/.exec(page.url())[0];
    const added = now(id);
    assert.deepEqual(
      [added.kind, added.from, added.to, added.width_m, added.sill_m],
      ["window", "R3", undefined, 1.5, 0.9],
    );
    assert.equal(added.at[0], 0);
    assert.deepEqual(await violations(page), []);
    // By arrow keys on the plan: the wall runs up the plan.
    await page.getByRole("button", { name: "Slide it along the wall with the arrow keys" }).focus();
    await written(page, "set", () => page.keyboard.press("ArrowUp"));
    assert.ok(Math.abs(now(id).at[1] - added.at[1]) > 0.001 && Math.abs(now(id).at[1] - added.at[1]) < 0.0501);
    // By dragging on the elevation: its right end, then its sill.
    const pull = async (name, dx, dy) => {
      const grip = sheet.getByRole("button", { name }).locator(".dot");
      await grip.scrollIntoViewIfNeeded();
      const box = await grip.boundingBox();
      const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
      await page.mouse.move(x, y);
      await page.mouse.down();
      await page.mouse.move(x + dx, y + dy, { steps: 4 });
      await written(page, "set", () => page.mouse.up());
    };
    await pull(/^Its right end/, -30, 0);
    assert.ok(now(id).width_m < 1.5);
    await pull(/^Its lower edge/, 0, -20);
    assert.ok(now(id).sill_m > 0.9 && Math.abs(now(id).sill_m + now(id).height_m - 2.1) < 1e-6);
    // By typing.
    await written(page, "set", async () => {
      await sheet.getByRole("textbox", { name: "From the left end of the wall" }).fill("0.5");
      await sheet.getByRole("textbox", { name: "From the left end of the wall" }).press("Enter");
    });
    // Seen from inside, the left end of the west wall is at y = 4.
    assert.ok(Math.abs(now(id).at[1] - (4 + 0.5 + now(id).width_m / 2)) < 1e-6, JSON.stringify(now(id)));
    await written(page, "undo", () => page.getByRole("button", { name: new RegExp(`^Undo: change .*${id}`) }).click());
    assert.notEqual(await sheet.getByRole("textbox", { name: "From the left end of the wall" }).inputValue(), "0.50 m");
    await sheet.getByRole("button", { name: "Remove it" }).click();
    await page.getByRole("complementary", { name: "Dining room", exact: true }).waitFor();
    assert.equal(now(id), undefined);
    await page.getByRole("button", { name: new RegExp(`^Undo: remove .*${id}`) }).click();
    await page.getByRole("link", { name: /^Window, Dining room to outdoors/ }).waitFor();
    assert.equal(now(id).kind, "window");
    for (let left = openings().length; left > 18;) {
      await written(page, "undo", () => page.getByRole("button", { name: /^Undo: / }).click());
      left = openings().length;
    }
  },

  async "a door slid past a corner of the next room leads there, and its leaf is drawn as it hangs"(door, page) {
    const now = () => JSON.parse(door.lathbook("export").out).openings.find((one) => one.id === "O2");
    await page.goto(door.address("#/house/L1/R1"));
    // Of the rooms' openings only those of the chosen room can be taken hold of on the plan.
    await page.getByRole("button", { name: "Door, Hall to Front room" }).focus();
    await page.keyboard.press("Enter");
    const sheet = page.getByRole("complementary", { name: "Door, Hall to Front room" });
    await sheet.waitFor();
    const arc = page.locator(".openings .chosen .arc");
    const before = await arc.getAttribute("d");
    await written(page, "set", () => sheet.getByLabel("Hinges, seen from inside").selectOption("right"));
    await written(page, "set", () => sheet.getByLabel("Opens").selectOption("in"));
    await page.waitForFunction(
      (was) => document.querySelector(".openings .chosen .arc").getAttribute("d") !== was,
      before,
    );
    assert.deepEqual([now().hung, now().opens], ["right", "in"]);
    for (let i = 0; i < 2; ++i)
      await written(page, "undo", () => page.getByRole("button", { name: /^Undo: change opening O2/ }).click());
    assert.equal(now().hung, undefined);
  },

  async "a loft under its slopes: added, dragged, typed, seen in the cut"(door, page) {
    const heights = () => JSON.parse(door.lathbook("export").out).rooms.find((one) => one.id === "R13").heights;
    await page.goto(door.address("#/house/L4/R13"));
    await page.getByRole("button", { name: "Change its shape" }).click();
    const sheet = page.getByRole("complementary", { name: "Shape of: Loft" });
    await sheet.getByText("Flat, 2.10 m high.").waitFor();
    for (const [n, wall] of [
      [1, "wall-2"],
      [2, "wall-4"],
    ]) {
      await sheet.getByLabel("Along which wall").selectOption(wall);
      await written(page, "set", () => sheet.getByRole("button", { name: "Slope the ceiling there" }).click());
      await sheet.getByRole("group", { name: `Slope ${n}, along ${wall.replace("-", " ")}` }).waitFor();
    }
    assert.deepEqual(
      heights().map((zone) => [zone.low_m, zone.high_m]),
      [
        [0.2, 2.1],
        [0.2, 2.1],
      ],
    );
    assert.deepEqual(await violations(page), []);
    const second = sheet.getByRole("group", { name: "Slope 2, along wall 4" });
    await written(page, "set", async () => {
      await second.getByRole("textbox", { name: "Height where it is lowest" }).fill("0.6");
      await second.getByRole("textbox", { name: "Height where it is lowest" }).press("Enter");
    });
    assert.equal(heights()[1].low_m, 0.6);
    const depth = (zone) => Math.max(...zone.outline.map(([x]) => x)) - Math.min(...zone.outline.map(([x]) => x));
    await page.getByRole("button", { name: /^Slope 2, reaching 3\.10 m/ }).focus();
    await page.keyboard.press("ArrowLeft");
    await written(page, "set", () => page.keyboard.press("ArrowLeft"));
    assert.ok(Math.abs(depth(heights()[1]) - 3) < 1e-6);
    const grip = await page
      .getByRole("button", { name: /^Slope 2, reaching 3\.00 m/ })
      .locator(".dot")
      .boundingBox();
    await page.mouse.move(grip.x + grip.width / 2, grip.y + grip.height / 2);
    await page.mouse.down();
    await page.mouse.move(grip.x + grip.width / 2 - 20, grip.y + grip.height / 2, { steps: 4 });
    await written(page, "set", () => page.mouse.up());
    assert.ok(depth(heights()[1]) < 2.95);
    // The cut follows: low, up, level, down again.
    const strip = page.getByRole("img", { name: /^The house cut open through Loft/ });
    const corners = (await strip.locator(".cut.chosen").getAttribute("d")).split("L").length;
    assert.equal(corners, 6);
    await second.getByRole("button", { name: "Take slope 2 out" }).click();
    await second.waitFor({ state: "detached" });
    while (heights())
      await written(page, "undo", () => page.getByRole("button", { name: /^Undo: change R13/ }).click());
    await sheet.getByText("Flat, 2.10 m high.").waitFor();
  },

  async "a void over a ceiling"(door, page) {
    await page.goto(door.address("#/house/L1/R3"));
    await page.getByRole("button", { name: "Change its shape" }).click();
    const sheet = page.getByRole("complementary", { name: "Shape of: Dining room" });
    assert.equal(await sheet.getByRole("textbox", { name: "How high the void is" }).inputValue(), "0.25 m");
    await sheet.getByRole("button", { name: "Draw the void" }).click();
    await sheet.getByRole("button", { name: "Draw the void" }).waitFor({ state: "detached" });
    const rooms = () => JSON.parse(door.lathbook("export").out).rooms;
    const made = rooms().find((one) => one.name === "Void over: Dining room");
    assert.deepEqual([made.kind, made.storey, made.height_m], ["void", "L2", 0.25]); // the storey that is there already
    await page.getByText("Void over: Dining room", { exact: true }).last().waitFor(); // and it backs on
    await page.getByRole("button", { name: "Undo: draw the void over Dining room" }).click();
    await sheet.getByRole("button", { name: "Draw the void" }).waitFor();
    assert.ok(!rooms().some((one) => one.id === made.id));
  },

  async "the way round of a run, drawn in both storeys it goes through"(door, page) {
    const add = (...words) => assert.equal(door.lathbook("add", ...words).status, 0, words.join(" "));
    add("job", "title=Pipe to the back bedroom", "by=trade");
    const job = JSON.parse(door.lathbook("export").out).jobs.at(-1).id;
    add(
      "material",
      "name=Panel behind the fire",
      "family=insulating-board",
      "room=R3",
      "face=wall-4",
      "shape=from 1 to 3 high 0.8 to 1.4",
    );
    add(`${job}/cuts`, "task=grind", "room=R3", "face=wall-4", "shape=line 2,0.4 2,2.4 wide 0.025", "minutes=30");
    add(
      `${job}/cuts`,
      "task=drill",
      "room=R3",
      "face=ceiling",
      "shape=point 0.05,6",
      "depth=through",
      "diameter_mm=25",
      "minutes=10",
    );
    add(`${job}/cuts`, "task=grind", "room=R9", "face=floor", "shape=line 0.05,6 3.2,6 wide 0.025", "minutes=30");
    await page.goto(door.address(`#/jobs/${job}`));
    const plan = (storey) => page.getByRole("img", { name: `Plan of the ${storey}` });
    await plan("Ground floor").locator(".way-round").waitFor();
    await plan("First floor").locator(".way-round").waitFor();
    assert.equal(await plan("Ground floor").locator(".way-round text").textContent(), "to First floor");
    assert.equal(await plan("First floor").locator(".way-round text").textContent(), "to Ground floor");
    const told = JSON.parse(door.lathbook("check", job, "--json").out).ways_on.find((way) => way.route);
    await page.getByText(`${told.route.length_m.toFixed(2)} m long, 1 hole`).waitFor();
    assert.deepEqual(await violations(page), []);
    const toggle = page.getByRole("button", { name: /^Show it on the plan: Lay the run/ });
    assert.equal(await toggle.getAttribute("aria-pressed"), "true");
    await toggle.click();
    await page.locator(".way-round").first().waitFor({ state: "detached" });
    for (let i = 0; i < 5; ++i) door.lathbook("undo");
  },

  async "keep photos of a whole room, then and now"(door, page) {
    const dot = Buffer.from(
      "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNkYPhfDwAChwGA60e6kgAAAABJRU5ErkJggg==",
      "base64",
    );
    await page.goto(door.address("#/house/L1/R4"));
    const sheet = page.getByRole("complementary", { name: "Kitchen", exact: true });
    const file = sheet.getByLabel("Add a photo");
    const photos = () => (JSON.parse(door.lathbook("export").out).documents ?? []).filter((one) => one.room === "R4");
    for (const name of ["one.png", "two.png"])
      await written(page, "photo", () => file.setInputFiles({ name, mimeType: "image/png", buffer: dot }));
    await sheet.getByLabel("How much of the earlier photo is seen").waitFor();
    assert.equal(photos().length, 2);
    assert.ok(photos().every((one) => one.material === undefined && one.title === "Kitchen"));
    assert.deepEqual(await violations(page), []);
    for (let i = 0; i < 2; ++i)
      await written(page, "undo", () => page.getByRole("button", { name: /^Undo: / }).click());
    await sheet.getByText("No photo yet.", { exact: false }).waitFor();
    assert.deepEqual(photos(), []);
  },

  async "days away and dry weather put jobs off and are drawn as bands"(door, page) {
    const about = () => JSON.parse(door.lathbook("export").out).about;
    const start = (job) =>
      JSON.parse(door.lathbook("timeline", "--json").out).activities.find((row) => row.id === job).start;
    const today = new Date().toISOString().slice(0, 10);
    const later = (days) => new Date(Date.now() + days * 86_400_000).toISOString().slice(0, 10);
    await page.goto(door.address("#/jobs/timeline"));
    const away = page.getByRole("form", { name: "When nobody is there" });
    await away.getByRole("button", { name: "Add these days" }).click();
    await page.getByText("Give the first day.").waitFor();
    await away.getByLabel("First day").fill(later(5));
    await away.getByLabel("Last day").fill(later(1));
    await away.getByRole("button", { name: "Add these days" }).click();
    await page.getByText("is before its first day", { exact: false }).waitFor(); // the program's own words, and kept as typed
    await away.getByLabel("First day").fill(today);
    await away.getByLabel("Last day").fill(later(6));
    await away.getByLabel("Why, if you like").fill("with the grandparents");
    await written(page, "set", () => away.getByRole("button", { name: "Add these days" }).click());
    await page.locator(".gantt .away").waitFor();
    assert.equal(start("J1"), later(7));
    const dry = page.getByRole("form", { name: "Dry weather" });
    await dry.getByLabel("First day").fill(later(60));
    await dry.getByLabel("Last day").fill(later(120));
    await written(page, "set", () => dry.getByRole("button", { name: "Add this weather" }).click());
    await page.locator(".gantt .dry").waitFor();
    assert.ok(start("J6") >= later(60));
    assert.equal(about().away[0].why, "with the grandparents");
    assert.deepEqual(await violations(page), []);
    await page
      .getByRole("button", { name: /^Remove / })
      .first()
      .click();
    await page.locator(".gantt .away").waitFor({ state: "detached" });
    assert.equal(about().away, undefined);
    for (let i = 0; i < 3; ++i)
      await written(page, "undo", () => page.getByRole("button", { name: /^Undo: change what is said/ }).click());
    assert.equal(about().dry, undefined);
  },

  async "see what is left to walk, and go from room to room"(door, page) {
    await page.goto(door.address("#/house/L1"));
    await page.getByRole("link", { name: /^Walk through the house: \d+ questions left/ }).click();
    const walks = page.getByRole("complementary", { name: "Walk through the house" });
    const left = Number((await walks.getByText(/^\d+ questions left, in \d+ rooms/).textContent()).split(" ")[0]);
    assert.deepEqual(await violations(page), []);
    await walks.getByRole("button", { name: "Dining room", exact: true }).click();
    const walk = page.getByRole("complementary", { name: "What is in: Dining room?" });
    const asked = walk.getByRole("listitem", { name: "millboard", exact: true });
    await asked.getByRole("button", { name: "None seen" }).click();
    await asked.getByText(/^None seen, /).waitFor();
    await walk.getByRole("button", { name: "Next: Kitchen" }).click();
    await page.getByRole("complementary", { name: "What is in: Kitchen?" }).waitFor();
    await page.getByRole("link", { name: "All rooms" }).click();
    await walks.getByText(`${left - 1} questions left, in`, { exact: false }).waitFor();
    await page.getByRole("button", { name: /^Undo: change R3/ }).click();
    await walks.getByText(`${left} questions left, in`, { exact: false }).waitFor();
  },

  async "change whose rules hold, and back"(door, page) {
    const about = () => JSON.parse(door.lathbook("export").out).about;
    await page.goto(door.address("#/house/L1"));
    await page.getByText("Rules of Great Britain, England").waitFor();
    await page.getByRole("button", { name: "Change the rules" }).click();
    const form = page.getByRole("dialog");
    await form.getByLabel("Country").selectOption({ label: "Australia" });
    await form.getByText("in AUD instead of GBP", { exact: false }).waitFor();
    await form.getByLabel("State or territory").selectOption({ label: "Queensland" });
    assert.deepEqual(await violations(page), []);
    await form.getByRole("button", { name: "Use these rules" }).click();
    await form.waitFor({ state: "detached" });
    await page.getByText("Rules of Australia, Queensland").waitFor();
    assert.deepEqual([about().rules, about().region, about().currency], ["au", "qld", "AUD"]);
    const told = JSON.parse(door.lathbook("check", "--json").out).find((one) => one.called);
    await page.goto(door.address(`#/jobs/${told.job}`));
    await page.getByRole("main").getByText(told.sentence).waitFor();
    await page.goto(door.address("#/house/L1"));
    await page.getByRole("button", { name: /^Undo: change what is said/ }).click();
    await page.getByRole("status").first().getByText("Taken back", { exact: false }).waitFor();
    assert.deepEqual([about().rules, about().region, about().currency], ["gb", "england", "GBP"]);
  },

  async "look closer at the plan"(door, page) {
    await page.goto(door.address("#/house/L1"));
    const plan = page.getByRole("group", { name: "Plan of the Ground floor" });
    const before = (await plan.getAttribute("viewBox")).split(" ").map(Number);
    await page.getByRole("button", { name: "Closer" }).click();
    await page.getByRole("button", { name: "All of it" }).waitFor();
    const near = (await plan.getAttribute("viewBox")).split(" ").map(Number);
    assert.ok(Math.abs(before[2] / near[2] - 1.5) < 0.01);
    await page.getByRole("button", { name: "Hall", exact: true }).focus();
    await page.keyboard.press("ArrowRight");
    await page.waitForTimeout(50);
    assert.ok(Number((await plan.getAttribute("viewBox")).split(" ")[0]) > near[0]);
    await page.getByRole("button", { name: "All of it" }).click();
    assert.equal((await plan.getAttribute("viewBox")).split(" ").map(Number)[2], before[2]);
    assert.equal(JSON.parse(door.lathbook("export").out).storeys[0].name, "Ground floor");
  },

  async "by the keyboard alone: choose a room on the plan"(door, page) {
    await page.goto(door.address("#/house/L1"));
    const room = page.getByRole("button", { name: "Hall", exact: true });
    await room.focus();
    await page.keyboard.press("Enter");
    await page.getByRole("complementary", { name: "Hall" }).waitFor();
    assert.equal(await room.getAttribute("aria-pressed"), "true");
  },
};

/** Journeys of a book with nothing in it yet. */
const beginnings = {
  async "a new book: from a typical outline to rooms with their years"(door, page) {
    await page.getByRole("heading", { level: 1, name: "Begin with the house" }).waitFor();
    assert.deepEqual(await violations(page), []);
    await page.getByLabel("What is it called?").fill("Mill Lane");
    await page.getByLabel("Country").selectOption({ label: "Australia" });
    await page.getByLabel("State or territory").selectOption({ label: "Victoria" });
    await page.getByText("an hour in 7 days", { exact: false }).waitFor();
    await page.getByLabel("first year").first().fill("1931");
    await page.getByLabel("last year").first().fill("1933");
    await page.getByRole("radio", { name: "Terraced house" }).check();
    await page.getByLabel("Lengths in").selectOption("ft");
    await page.getByLabel("Width, along the street").fill("17 ft");
    await page.getByLabel("Lengths in").selectOption("m");
    await page.getByLabel("Depth, front to back").fill("wide");
    await page.getByLabel("Lengths in").focus();
    await page.getByText("is not a length").waitFor(); // told beside the field
    await page.getByLabel("Depth, front to back").fill("8.5");
    await page.getByLabel("A cellar").check();
    await page.getByLabel("An extension at the back").check();
    await page.getByRole("group", { name: "Extension: built" }).getByLabel("first year").fill("1971");
    await page.getByLabel("It was made into a room").check();
    await page.getByRole("group", { name: "Loft conversion: built" }).getByLabel("first year").fill("1978");
    await page.getByRole("button", { name: "Draw these 14 rooms" }).click();
    await page.getByRole("heading", { level: 1, name: "Mill Lane" }).waitFor();
    assert.ok(await page.getByRole("button", { name: "Kitchen", exact: true }).first().isVisible());
    // Straight on into the walk, beginning where one comes in.
    const walks = page.getByRole("complementary", { name: "Walk through the house" });
    await walks.getByText(/^\d+ questions left, in \d+ rooms/).waitFor();
    assert.deepEqual(await violations(page), []);
    await walks.getByRole("button", { name: "Begin with: Hall" }).click();
    await page
      .getByRole("complementary", { name: "What is in: Hall?" })
      .getByRole("button", { name: /^Next: / })
      .waitFor();
    const told = JSON.parse(door.lathbook("export").out);
    assert.equal(told.about.title, "Mill Lane");
    assert.deepEqual([told.about.rules, told.about.region, told.about.currency], ["au", "vic", "AUD"]);
    assert.deepEqual(
      told.phases.map((phase) => phase.years),
      [
        { from: 1931, to: 1933 },
        { from: 1971, to: 1971 },
        { from: 1978, to: 1978 },
      ],
    );
    assert.deepEqual(
      told.storeys.map((storey) => storey.name),
      ["Cellar", "Ground floor", "First floor", "Loft"],
    );
    const eaves = told.rooms.find((room) => room.name === "Eaves, back");
    assert.deepEqual(eaves.outline[2], [5.2, 8.5]); // 17 ft to the nearest 5 cm
    assert.deepEqual([eaves.kind, eaves.phase], ["loft", "PH1"]);
    assert.equal(told.rooms.find((room) => room.name === "Loft room").phase, "PH3");
    assert.equal(told.rooms.find((room) => room.name === "Extension").phase, "PH2");
    await page.getByRole("button", { name: /^Undo: draw a house/ }).click(); // one step
    await page.getByRole("heading", { level: 1, name: "Begin with the house" }).waitFor();
    assert.equal(JSON.parse(door.lathbook("export").out).rooms, undefined);
    await page.getByRole("button", { name: /^Redo: draw a house/ }).click();
    await page.getByRole("heading", { level: 1, name: "Mill Lane" }).waitFor();
  },

  async "add a room beside another, and a storey like the one below"(door, page) {
    await page.goto(door.address("#/house"));
    await page.getByRole("link", { name: "Ground floor", exact: true }).click();
    await page.getByRole("button", { name: "Add a room" }).click();
    const form = page.getByRole("dialog");
    await form.getByRole("button", { name: "Add the room" }).click();
    await form.getByText("is missing", { exact: false }).first().waitFor();
    await form.getByLabel("What you call it").fill("Coal store");
    await form.getByLabel("Width").fill("1.5");
    await form.getByLabel("Depth").fill("2");
    await form.getByLabel("Next to").selectOption({ label: "Kitchen" });
    await form.getByLabel("On its side").selectOption("left"); // left, on the plan
    assert.deepEqual(await violations(page), []);
    await form.getByRole("button", { name: "Add the room" }).click();
    await page.getByRole("complementary", { name: "Coal store" }).waitFor();
    const rooms = JSON.parse(door.lathbook("export").out).rooms;
    assert.deepEqual(rooms.find((room) => room.name === "Coal store").outline[0], [-1.5, 5.95]);
    await page.getByRole("button", { name: "Add a storey" }).click();
    await form.getByLabel("What you call it").fill("Attic");
    await form.getByLabel("Begin with").selectOption({ label: "the same rooms as the First floor" });
    await form.getByRole("button", { name: "Add the storey" }).click();
    await page.getByRole("link", { name: "Attic", exact: true, current: true }).waitFor();
    const told = JSON.parse(door.lathbook("export").out);
    const attic = told.storeys.find((storey) => storey.name === "Attic");
    assert.equal(told.rooms.filter((room) => room.storey === attic.id).length, 5);
  },
};

/** Gives a room a note by the page's form. */
async function note(page, room, words) {
  await page.getByRole("button", { name: room, exact: true }).click();
  const sheet = page.getByRole("complementary", { name: room });
  await sheet.getByRole("button", { name: "Change its name or use" }).click();
  const form = page.getByRole("dialog");
  await form.getByLabel("Notes").fill(words);
  await form.getByRole("button", { name: "Save" }).click();
  await form.waitFor({ state: "detached" });
}
/** Waits until what is asked inside the page comes out true; waitForFunction takes any promise for true. */
async function until(page, asked) {
  const end = Date.now() + PATIENCE_MS;
  while (!(await page.evaluate(asked))) {
    assert.ok(Date.now() < end, `never came true: ${asked}`);
    await page.waitForTimeout(100);
  }
}

/** A PNG of one pixel. */
const DOT = Buffer.from(
  "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNkYPhfDwAChwGA60e6kgAAAABJRU5ErkJggg==",
  "base64",
);
const times = (door, words) => door.lathbook("history").out.split(words).length - 1;

/** With a link that comes and goes; each on a program of its own. */
const links = {
  async "what is written while the program is away arrives later, once and in order"(door, page) {
    await page.goto(door.address("#/house/L1"));
    await page.getByRole("button", { name: "Dining room", exact: true }).waitFor();
    await door.stop();
    await note(page, "Dining room", "Sockets on the hearth wall");
    await page.getByText("1 change waits for the program.").waitFor();
    await note(page, "Dining room", "Sockets on both walls");
    await page.getByText("2 changes wait for the program.").waitFor();
    assert.deepEqual(await violations(page), []);
    await page.getByRole("button", { name: "See what waits" }).click();
    const panel = page.getByRole("dialog", { name: "Changes kept in this browser" });
    assert.equal(await panel.getByText("Change R3 Dining room").count(), 2);
    assert.deepEqual(await violations(page), []);
    await panel.getByRole("button", { name: "Close" }).click();
    await note(page, "Dining room", "A third thought");
    await page.getByRole("button", { name: "Undo: Change R3 Dining room, not sent yet" }).click();
    await page.getByText("2 changes wait for the program.").waitFor();
    assert.equal(times(door, "change R3"), 0);
    await door.start(); // on the same port: it is the book's own
    await door.enter(page);
    await page.getByText("wait for the program").waitFor({ state: "detached" });
    assert.equal(times(door, "change R3"), 2);
    assert.equal(
      JSON.parse(door.lathbook("export", "--json").out).rooms.find((room) => room.id === "R3").notes,
      "Sockets on both walls",
    );
    assert.equal(door.lathbook("verify").status, 0);
  },

  async "a material and its photo, written down without a link, arrive together"(door, page) {
    await page.goto(door.address("#/house/L1/R3"));
    const sheet = page.getByRole("complementary", { name: "Dining room", exact: true });
    await sheet.getByRole("button", { name: "Write down a material here" }).waitFor();
    await door.stop();
    await sheet.getByRole("button", { name: "Write down a material here" }).click();
    const form = page.getByRole("dialog");
    await form.getByLabel("What you call it").fill("Boards over the hearth");
    await form.getByLabel("What it is").selectOption("insulating-board");
    await form.getByLabel("Ceiling, floor or wall").selectOption("wall-2");
    await form.getByLabel("Add a photo").setInputFiles({ name: "hearth.png", mimeType: "image/png", buffer: DOT });
    await form.getByRole("button", { name: "Save" }).click();
    await form.waitFor({ state: "detached" });
    await page.getByText("2 changes wait for the program.").waitFor();
    await page.getByRole("button", { name: "See what waits" }).click();
    const panel = page.getByRole("dialog", { name: "Changes kept in this browser" });
    await panel.getByText("Photo of Boards over the hearth").waitFor();
    await panel.getByRole("button", { name: "Close" }).click();
    await door.start();
    await door.enter(page);
    await page.getByText("wait for the program").waitFor({ state: "detached" });
    const told = JSON.parse(door.lathbook("export").out);
    const made = told.materials.filter((one) => one.name === "Boards over the hearth");
    assert.equal(made.length, 1);
    assert.deepEqual(
      told.documents.filter((one) => one.title === "Boards over the hearth").map((one) => one.material),
      [made[0].id],
    );
    assert.equal(door.lathbook("verify").status, 0);
  },

  async "an edit whose answer is lost is written once"(door, page) {
    await page.goto(door.address("#/house/L1"));
    let lost = 0;
    // The program gets it and writes it; the answer never comes back.
    await page.route("**/api/set", async (route) => {
      if (lost > 1) return route.continue();
      lost += 1;
      await route.fetch();
      await route.abort();
    });
    await note(page, "Kitchen", "A note that got lost on its way back");
    await page.waitForFunction(() => !document.querySelector(".waits"));
    assert.equal(lost, 2);
    assert.equal(times(door, "change R4"), 1);
    assert.ok(await page.getByRole("button", { name: /^Undo: change R4/ }).isEnabled());
  },

  async "a clash is told later, and the edit offered again"(door, page) {
    await page.goto(door.address("#/house/L1"));
    await page.getByRole("button", { name: "Dining room", exact: true }).waitFor();
    await door.stop();
    await note(page, "Dining room", "From the page");
    await note(page, "Kitchen", "Behind it");
    door.lathbook("set", "R3", "notes=By the command");
    await door.start();
    await door.enter(page);
    await page.getByText("1 change was not taken.").waitFor();
    await page.getByText("1 change waits for the program.").waitFor();
    await page.getByRole("button", { name: "See what waits" }).click();
    const panel = page.getByRole("dialog", { name: "Changes kept in this browser" });
    await panel.getByText("has been changed meanwhile", { exact: false }).waitFor();
    assert.deepEqual(await violations(page), []);
    const notes = (id) => JSON.parse(door.lathbook("export", "--json").out).rooms.find((room) => room.id === id).notes;
    assert.equal(notes("R3"), "By the command");
    await panel.getByRole("button", { name: /^Put it into the book as it is now/ }).click();
    await panel.waitFor({ state: "detached" });
    assert.equal(notes("R3"), "From the page");
    assert.equal(notes("R4"), "Behind it");
  },

  async "undo at once, before the page has read the book again"(door, page) {
    await page.goto(door.address("#/house/L1"));
    await page.getByRole("button", { name: "Dining room", exact: true }).click();
    await page.getByRole("button", { name: "Walk through this room" }).click();
    const walk = page.getByRole("complementary", { name: "What is in: Dining room?" });
    await walk.getByRole("listitem").first().waitFor();
    let let_through;
    const held = new Promise((resolve) => (let_through = resolve));
    await page.route("**/api/book", async (route) => {
      await held;
      await route.continue();
    });
    await walk
      .getByRole("button", { name: /None seen/ })
      .first()
      .click();
    await page.getByText("Done: change R3", { exact: false }).waitFor();
    await page.getByRole("button", { name: /^Undo: change R3/ }).click();
    await page.getByText("Taken back: change R3", { exact: false }).waitFor();
    let_through();
    assert.equal(times(door, "undo: change R3"), 1);
    await page.getByRole("button", { name: /^Redo: change R3/ }).click();
    await page.getByText("Done again: change R3", { exact: false }).waitFor();
  },
};

/** A phone that trusts the laptop's authority, over TLS on a private address; `page` is the phone's. */
const phones = {
  async "the phone in the loft: paired, without a signal, back again, and let in no longer"(door, page) {
    assert.match(page.url(), /^https:.*\/pair$/);
    assert.deepEqual(await violations(page), []);
    await page.getByLabel("The six digits on the laptop").fill(door.for_phone.code === "000000" ? "000001" : "000000");
    await page.getByRole("button", { name: "Pair" }).click();
    await page.getByText("That is not the code.").waitFor();
    await page.waitForTimeout(1100); // the back-off after one wrong code
    await page.getByLabel("The six digits on the laptop").fill(door.for_phone.code);
    await page.getByLabel("What you call this phone").fill("Loft phone");
    await page.getByRole("button", { name: "Pair" }).click();
    await page.getByRole("heading", { level: 1, name: /Demo house/ }).waitFor();
    assert.equal(await page.getByRole("button", { name: "Phone", exact: true }).count(), 0); // that is for the laptop
    // All answers of the house are kept by and by.
    await until(page, async () => {
      const kept = await (await caches.open("lathbook-kept-1")).keys();
      return kept.some((request) => request.url.endsWith("/api/testing"));
    });

    await page.context().setOffline(true);
    await door.stop(); // the browser's switch does not reach its service workers
    await page.reload();
    await page.getByText("No link to the laptop", { exact: false }).waitFor();
    const told = JSON.parse(door.lathbook("check", "J1", "--json").out);
    await page.goto(door.for_phone.address + "/#/jobs/J1"); // never opened before
    await page.getByRole("main").getByText(told.sentence).waitFor();
    assert.deepEqual(await violations(page), []);
    await page.goto(door.for_phone.address + "/#/testing"); // nor its chart, which comes in a file of its own
    await page.locator("svg.stair").waitFor();
    await page.goto(door.for_phone.address + "/#/house/L1");
    await note(page, "Dining room", "Seen from the loft hatch");
    await page.getByText("1 change waits for the program.").waitFor();
    await page.goto(door.for_phone.address + "/#/house/L1/M14");
    await page.locator("input[type=file]").setInputFiles({ name: "loft.png", mimeType: "image/png", buffer: DOT });
    await page.getByText("2 changes wait for the program.").waitFor();
    await page.reload(); // as if the phone had put the page away meanwhile
    await page.getByText("2 changes wait for the program.").waitFor();
    await page.getByRole("button", { name: "See what waits" }).click();
    const panel = page.getByRole("dialog", { name: "Changes kept in this browser" });
    await panel.getByText("Photo of M14", { exact: false }).waitFor();
    assert.deepEqual(await violations(page), []);
    await panel.getByRole("button", { name: "Close" }).click();
    const photos = () => JSON.parse(door.lathbook("export", "--json").out).documents?.length ?? 0;
    const before = photos();
    assert.equal(times(door, "change R3"), 0);

    await door.start(); // a paired phone stays paired
    await page.context().setOffline(false);
    await page.getByText("wait for the program").waitFor({ state: "detached" });
    await page.getByText("No link to the laptop", { exact: false }).waitFor({ state: "detached" });
    assert.equal(times(door, "change R3"), 1);
    assert.equal(photos(), before + 1);
    assert.equal(door.lathbook("verify").status, 0);

    const laptop = await door.newPage(DESKTOP);
    await laptop.getByRole("button", { name: "Phone", exact: true }).click();
    const desk = laptop.getByRole("dialog", { name: "Let a phone in" });
    await desk.getByText("Loft phone").waitFor();
    assert.ok(await desk.getByText(door.for_phone.fingerprint).isVisible());
    await desk.getByRole("button", { name: "Make a new code" }).click();
    await desk.getByRole("group", { name: "Then the code, typed on the phone" }).waitFor();
    assert.deepEqual(await violations(laptop), []);
    await desk.getByRole("button", { name: "Let it in no longer: Loft phone" }).click();
    await desk.getByText("None yet.").waitFor();
    await page.getByText("This window has no key to the book.", { exact: false }).waitFor();
    await until(page, async () => !(await caches.has("lathbook-kept-1"))); // nothing of the house stays on it
    await page.goto(door.for_phone.address);
    await page.getByRole("heading", { level: 1, name: "Pair this phone" }).waitFor();
    await laptop.context().close();
  },
};

const VIEWS = [
  "#/house/L1",
  "#/house/L3",
  "#/house/L1/R4",
  "#/house/L1/M14",
  "#/house/L1/O2",
  "#/house/L3/O15",
  "#/house/L1/walk",
  "#/jobs",
  "#/jobs/J1",
  "#/jobs/J2",
  "#/jobs/timeline",
  "#/jobs/brought-in",
  "#/testing",
  "#/waste",
  "#/papers",
  "#/papers/register",
  "#/papers/tables",
  "#/dust",
  "#/dust/now",
  "#/dust/new",
  "#/dust/E1",
];

/** The charts on a view, by the class of their drawings: they come a moment later. */
const CHARTS = {
  "#/jobs/timeline": ["gantt"],
  "#/testing": ["stair"],
  "#/dust/E1": ["ranges", "air", "pulls"],
};

/** Words in charts that are cut off by its edge, or that run into others. */
const unreadable = (page) =>
  page.evaluate(() =>
    [...document.querySelectorAll(".chart svg")].flatMap((svg) => {
      const edge = svg.getBoundingClientRect();
      const words = [...svg.querySelectorAll("text")].map((text) => ({
        said: text.textContent,
        box: text.getBoundingClientRect(),
      }));
      const cut = words.filter(({ box }) => box.left < edge.left - 1 || box.right > edge.right + 1);
      // Boxes of lines are higher than their letters, and may overlap a little.
      const over = words.flatMap((one, i) =>
        words
          .slice(i + 1)
          .filter(
            ({ box }) =>
              Math.min(one.box.right, box.right) - Math.max(one.box.left, box.left) > 1 &&
              Math.min(one.box.bottom, box.bottom) - Math.max(one.box.top, box.top) > 6,
          )
          .map((other) => `"${one.said}" runs into "${other.said}"`),
      );
      return [...cut.map(({ said }) => `"${said}" is cut off`), ...over];
    }),
  );

const [program, only = ""] = process.argv.slice(2);
let failed = 0;
const report = (name, error) => {
  if (error) failed += 1;
  console.log(`${error ? "FAILED" : "ok    "} ${name}${error ? `\n${error.stack ?? error}` : ""}`);
};

/** Runs journeys one after another on one book; those that go on from one another end with the first that fails. */
async function run(door, size, options, list, go_on = true, at = undefined) {
  for (const [name, journey] of Object.entries(list)) {
    if (!name.includes(only)) continue;
    const page = await door.newPage(options, at);
    page.setDefaultTimeout(PATIENCE_MS);
    try {
      await journey(door, page);
      // Refusals the journey provokes are told as errors of loading; anything else is a fault of the page.
      const expected = name in links || name in phones ? /status of 4(22|04|01|03|09)|net::ERR_/ : /status of 4(22|04)/;
      const troubles = page.troubles.filter((one) => !expected.test(one));
      assert.deepEqual(troubles, [], "the page told of no trouble");
      report(`${size}: ${name}`);
    } catch (error) {
      report(`${size}: ${name}`, error);
      if (process.env.SHOTS) await page.screenshot({ path: `${process.env.SHOTS}/${size} ${name.slice(0, 30)}.png` });
      if (!go_on) break;
    }
    await page.context().close();
  }
}

for (const [size, options] of Object.entries({ desktop: DESKTOP, phone: PHONE })) {
  const fresh = await openPage(program, "new");
  try {
    await run(fresh, size, options, beginnings);
  } finally {
    await fresh.close();
  }
  const whole = await openPage(program, "new");
  try {
    await run(whole, size, options, scenes, false);
  } finally {
    await whole.close();
  }
  for (const [name, journey] of Object.entries(links)) {
    if (!name.includes(only)) continue;
    const door = await openPage(program);
    try {
      await run(door, size, options, { [name]: journey });
    } finally {
      await door.close();
    }
  }
  if (size === "phone" && Object.keys(phones).some((name) => name.includes(only))) {
    const door = await openPhone(program);
    try {
      await run(door, size, { ...options, serviceWorkers: "allow" }, phones, true, door.for_phone.address);
    } finally {
      await door.close();
    }
  }
  const door = await openPage(program);
  try {
    await run(door, size, options, journeys);
    for (const colorScheme of ["light", "dark"]) {
      const page = await door.newPage({ ...options, colorScheme });
      page.setDefaultTimeout(PATIENCE_MS);
      for (const view of VIEWS) {
        if (!view.includes(only)) continue;
        try {
          await page.goto(door.address(view));
          await page.getByRole("main").getByRole("heading", { level: 1 }).waitFor();
          for (const name of CHARTS[view] ?? []) await page.locator(`svg.${name}`).first().waitFor();
          await page.waitForTimeout(150);
          assert.deepEqual(await violations(page), []);
          assert.deepEqual(await unreadable(page), []);
          const wide = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
          assert.ok(wide <= 0, `wider than the window by ${wide}`);
          report(`${size}, ${colorScheme}: axe and width on ${view}`);
        } catch (error) {
          report(`${size}, ${colorScheme}: axe and width on ${view}`, error);
        }
      }
      await page.context().close();
    }
  } finally {
    await door.close();
  }
}
process.exit(failed === 0 ? 0 : 1);
