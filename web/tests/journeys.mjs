// Journeys through the page by role, each checked by the command afterwards; axe on every view in light and dark.
// node tests/journeys.mjs PROGRAM [WORDS]: only what has these words in its name; SHOTS=FOLDER keeps a picture of each failure
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { openPage } from "./door.mjs";
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
    await form.getByText("is missing", { exact: false }).first().waitFor(); // told beside the fields, nothing written
    await form.getByLabel("What you call it").fill("Boxed-in pipe by the hearth");
    await form.getByLabel("What it is").selectOption("insulating-board");
    await form.getByLabel("On which face").selectOption("wall-1");
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
    await page.getByRole("button", { name: /^Undo: add LR/ }).click();
    await page.getByRole("button", { name: "Enter its result: S1" }).waitFor();
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
    await page.getByRole("button", { name: new RegExp(`^Undo: add ${id}`) }).click();
    await page.getByText("M10-1, Corrugated garage roof").waitFor({ state: "detached" });
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
    await page.getByText("In a few words is not answered yet").waitFor();
    await page.getByLabel("In a few words").fill("Drilled the ceiling boards");
    await page.getByLabel("What was disturbed").selectOption("M14");
    await page.getByLabel("What was done to it").selectOption("drill");
    const robin = page.getByRole("group", { name: "Robin" });
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
    await page.getByRole("button", { name: new RegExp(`^Undo: add ${id}`) }).click();
    await page.getByRole("heading", { level: 1, name: "What did I breathe?" }).waitFor();
  },

  async "draw a hole and watch the verdict"(door, page) {
    await page.goto(door.address("#/jobs/J3"));
    const before = door.lathbook("check", "J3").status;
    assert.equal(before, 0);
    await page.getByRole("button", { name: "Add a cut" }).click();
    const form = page.getByRole("dialog");
    await form.getByLabel("Room").selectOption({ label: "Kitchen" });
    await form.getByLabel("On which face").selectOption("ceiling");
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
    await page.getByRole("button", { name: /^Undo: add J3/ }).click();
    await page.getByRole("heading", { level: 2, name: "May start" }).waitFor();
    assert.equal(door.lathbook("check", "J3").status, before);
  },

  async "take a way on: it becomes samples to take"(door, page) {
    await page.goto(door.address("#/jobs/J2"));
    await page.getByRole("button", { name: /^Plan these samples: Test M9/ }).click();
    await page.getByRole("status").getByText("Done: add S", { exact: false }).waitFor();
    const planned = () =>
      JSON.parse(door.lathbook("export").out).samples.filter(
        (sample) => sample.label === "M9-1" || sample.label === "M11-1",
      );
    await page.getByRole("button", { name: /^Undo: add S\d+, M11-1/ }).waitFor();
    assert.deepEqual(
      planned()
        .map((sample) => sample.material)
        .sort(),
      ["M11", "M9"],
    );
    await page.getByRole("button", { name: /^Undo: add S/ }).click();
    await page.getByRole("button", { name: /^Undo: add S\d+, M9-1/ }).click();
    await page.getByRole("status").getByText("Taken back: add S", { exact: false }).waitFor();
    await page.waitForTimeout(300);
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
    await form.getByLabel("On which face").selectOption("ceiling");
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

  async "keep photos of a material, then and now"(door, page) {
    const dot = Buffer.from(
      "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNkYPhfDwAChwGA60e6kgAAAABJRU5ErkJggg==",
      "base64",
    );
    await page.goto(door.address("#/house/L1/M14"));
    const sheet = page.getByRole("complementary", { name: "Ceiling boards, kitchen extension" });
    const file = sheet.getByLabel("Add a photo");
    await file.setInputFiles({ name: "holiday.jpg", mimeType: "image/jpeg", buffer: Buffer.from("<svg/>") });
    await sheet.getByText("is not a photo", { exact: false }).waitFor(); // by its content, whatever it is called
    await file.setInputFiles({ name: "one.png", mimeType: "image/png", buffer: dot });
    await sheet.getByRole("img", { name: /^Ceiling boards, kitchen extension, / }).waitFor();
    await file.setInputFiles({ name: "two.png", mimeType: "image/png", buffer: dot });
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
    // The front room reaches 60 cm behind the kitchen's near wall.
    const beside = await strip.locator("dd").last().textContent();
    assert.equal(beside, "Cupboard under the stairs, Dining room, Front room, Hall, Kitchen extension, outdoors");
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
    await form.getByRole("button", { name: "An area" }).click();
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
    await page.getByRole("button", { name: "Draw these 12 rooms" }).click();
    await page.getByRole("heading", { level: 1, name: "Mill Lane" }).waitFor();
    assert.ok(await page.getByRole("button", { name: "Kitchen", exact: true }).isVisible());
    const told = JSON.parse(door.lathbook("export").out);
    assert.equal(told.about.title, "Mill Lane");
    assert.deepEqual(
      told.phases.map((phase) => phase.years),
      [
        { from: 1931, to: 1933 },
        { from: 1971, to: 1971 },
      ],
    );
    assert.deepEqual(
      told.storeys.map((storey) => storey.name),
      ["Cellar", "Ground floor", "First floor", "Loft"],
    );
    const loft = told.rooms.find((room) => room.name === "Loft");
    assert.deepEqual(loft.outline[2], [5.2, 8.5]); // 17 ft to the nearest 5 cm
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

const VIEWS = [
  "#/house/L1",
  "#/house/L3",
  "#/house/L1/R4",
  "#/house/L1/M14",
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

const [program, only = ""] = process.argv.slice(2);
let failed = 0;
const report = (name, error) => {
  if (error) failed += 1;
  console.log(`${error ? "FAILED" : "ok    "} ${name}${error ? `\n${error.stack ?? error}` : ""}`);
};

/** Runs journeys one after another on one book; those that go on from one another end with the first that fails. */
async function run(door, size, options, list, go_on = true) {
  for (const [name, journey] of Object.entries(list)) {
    if (!name.includes(only)) continue;
    const page = await door.newPage(options);
    page.setDefaultTimeout(PATIENCE_MS);
    try {
      await journey(door, page);
      // Refusals the journey provokes are told as errors of loading; anything else is a fault of the page.
      const troubles = page.troubles.filter((one) => !/status of 4(22|04)/.test(one));
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
          await page.waitForTimeout(150);
          assert.deepEqual(await violations(page), []);
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
