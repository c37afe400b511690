// One house from nothing to its handover, the way its owner would go: a terraced house of the 1930s with a lean-to of the
// 1960s. A journey a scene, in order, on one book; each ends with what the command says of it.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";

const exported = (door) => JSON.parse(door.lathbook("export").out);
const saved = async (page) => {
  const form = page.getByRole("dialog");
  await form.getByRole("button", { name: "Save" }).click();
  await form.waitFor({ state: "detached" });
};
const roomNamed = (door, name) => exported(door).rooms.find((room) => room.name === name);
const materialNamed = (door, name) => exported(door).materials.find((one) => one.name === name);

async function writeDown(door, page, room, fields) {
  const { id, storey } = roomNamed(door, room);
  await page.goto(door.address(`#/house/${storey}/${id}`));
  await page
    .getByRole("complementary", { name: room, exact: true })
    .getByRole("button", { name: "Write down a material here" })
    .click();
  const form = page.getByRole("dialog");
  await form.getByLabel("What you call it").fill(fields.name);
  await form.getByLabel("What it is").selectOption(fields.family);
  await form.getByLabel("Ceiling, floor or wall").selectOption(fields.face);
  await form.getByLabel("Damage").selectOption(fields.damage ?? "none");
  if (fields.more) {
    await form.getByRole("button", { name: "More about it" }).click();
    for (const [label, value] of Object.entries(fields.more)) {
      const field = form.getByLabel(label, { exact: true });
      if ((await field.evaluate((at) => at.tagName)) === "SELECT") await field.selectOption(value);
      else await field.fill(value);
    }
  }
  await saved(page);
  await page.getByRole("complementary", { name: fields.name }).waitFor();
}

export const scenes = {
  async "scene 1, starting: the house drawn, and what is likely to hide in it"(door, page) {
    await page.getByRole("heading", { level: 1, name: "Begin with the house" }).waitFor();
    await page.getByLabel("What is it called?").fill("Weir Terrace");
    await page.getByLabel("first year").first().fill("1932");
    await page.getByLabel("last year").first().fill("1936");
    await page.getByRole("radio", { name: "Terraced house" }).check();
    await page.getByLabel("An extension at the back").check();
    const lean_to = page.getByRole("group", { name: "Extension: built" });
    await lean_to.getByLabel("first year").fill("1964");
    await lean_to.getByLabel("last year").fill("1966");
    await page.getByRole("button", { name: /^Draw these \d+ rooms$/ }).click();
    await page.getByRole("heading", { level: 1, name: "Weir Terrace" }).waitFor();
    const extension = roomNamed(door, "Extension");
    await page.goto(door.address(`#/house/${extension.storey}/${extension.id}`));
    await page.getByRole("button", { name: "Walk through this room" }).click();
    const walk = page.getByRole("complementary", { name: "What is in: Extension?" });
    const asked = await walk.getByRole("listitem").filter({ has: page.getByRole("button", { name: "None seen" }) });
    await asked.first().waitFor();
    assert.ok((await asked.count()) > 3, "a lean-to of the sixties has more than three likely things");
    assert.deepEqual(
      exported(door).phases.map((phase) => phase.years),
      [
        { from: 1932, to: 1936 },
        { from: 1964, to: 1966 },
      ],
    );
  },

  async "scene 2, a suspicion: what it looks like, where, how much, in what state, and what is like it"(door, page) {
    const board = { family: "insulating-board", damage: "low" };
    await writeDown(door, page, "Extension", {
      ...board,
      name: "Ceiling boards in the lean-to",
      face: "ceiling",
      more: { "How much": "7.5", "Of what": "m2" },
    });
    await writeDown(door, page, "Kitchen", { ...board, name: "Panel over the kitchen door", face: "wall-1" });
    const sheet = page.getByRole("complementary", { name: "Panel over the kitchen door" });
    await sheet.getByText("Presumed", { exact: true }).waitFor();
    await sheet.getByRole("button", { name: "It looks the same as …" }).click();
    const form = page.getByRole("dialog");
    await form.getByRole("button", { name: "Save" }).click();
    await form.getByText("Say which one, and how alike.").waitFor();
    await form.getByLabel("Which one").selectOption({ label: "Ceiling boards in the lean-to, Extension" });
    await form.getByText("put up in one job, looking the same").click();
    await saved(page);
    await sheet.getByRole("link", { name: "Ceiling boards in the lean-to" }).waitFor();
    const [ceiling, panel] = ["Ceiling boards in the lean-to", "Panel over the kitchen door"].map((name) =>
      materialNamed(door, name),
    );
    assert.deepEqual(ceiling.extent, { amount: 7.5, unit: "m2" });
    assert.equal(panel.group, ceiling.group);
    assert.equal(panel.alike, "same job and look");
    const told = JSON.parse(door.lathbook("show", ceiling.id, "--json").out);
    assert.equal(told.standing, "presumed");
    assert.ok(told.low < told.probability && told.probability < told.high);
  },

  async "scene 3, before a job: where it cuts, and what may be done"(door, page) {
    await page.goto(door.address("#/jobs"));
    await page.getByRole("button", { name: "Write down a job" }).click();
    const form = page.getByRole("dialog");
    await form.getByLabel("The work in a few words").fill("Three lights in the lean-to");
    await form.getByLabel("Who does it").selectOption("householder");
    await form.getByLabel("Cost if nothing it meets holds asbestos").fill("120");
    await saved(page);
    await page.getByRole("button", { name: "Add a cut" }).click();
    await form.getByLabel("What is done").selectOption("drill");
    await form.getByLabel("Room").selectOption({ label: "Extension" });
    await form.getByLabel("Ceiling, floor or wall").selectOption("ceiling");
    await form.getByLabel("How deep").selectOption("through");
    await form.getByLabel("How many").fill("3");
    await form.getByRole("status").getByText("Ceiling boards in the lean-to").first().waitFor();
    await form.getByRole("button", { name: "Add this cut" }).click();
    await form.waitFor({ state: "detached" });
    const job = exported(door).jobs[0];
    const told = JSON.parse(door.lathbook("check", job.id, "--json").out);
    assert.ok(["test first", "have it removed first", "not yourself"].includes(told.verdict), told.verdict);
    await page.getByRole("heading", { level: 2, name: new RegExp(`^${told.verdict}$`, "i") }).waitFor();
    assert.ok(!told.ways_on.some((way) => way.kind === "remove" && /yourself/i.test(way.text)));
  },

  async "scene 4, testing: what a test costs, which are worth it, what came back"(door, page) {
    await page.goto(door.address("#/jobs/brought-in"));
    await page.getByRole("button", { name: "Write down a firm" }).click();
    const form = page.getByRole("dialog");
    await form.getByLabel("Name, or a word for them").fill("A laboratory by post");
    await form.getByLabel("What they do").selectOption("laboratory");
    await saved(page);
    await page.goto(door.address("#/testing"));
    await page.getByRole("heading", { name: "No test can be weighed yet." }).waitFor();
    await page.getByRole("button", { name: "What a test costs" }).click(); // once: where it is missed
    await form.getByLabel("Each sample").fill("29.50");
    await form.getByLabel("Each order to the laboratory").fill("12");
    await saved(page);
    assert.equal(exported(door).about.test_each, 2950);
    const ceiling = materialNamed(door, "Ceiling boards in the lean-to");
    const plan = JSON.parse(door.lathbook("test-plan", "--json").out);
    await page.locator(".verdict.worth").waitFor();
    for (const test of plan.tests) await page.locator(".test", { hasText: test.material }).waitFor();
    for (const label of ["W1", "W2"]) {
      await page.getByRole("button", { name: "Write down a sample" }).click();
      await form.getByLabel("Of which material").selectOption(ceiling.id);
      await form.getByLabel("What is written on the bag").fill(label);
      await form.getByLabel("Day it was taken").fill("2026-11-02");
      await saved(page);
    }
    await page.getByText("W2, Ceiling boards in the lean-to").waitFor();
    await page
      .getByRole("button", { name: /^Enter its result: S/ })
      .first()
      .click();
    await form.getByLabel("Asbestos found").check();
    await form.getByLabel("Amosite").check();
    await form.getByRole("button", { name: "Save" }).click();
    await page.getByRole("status", { name: "What this result moved" }).waitFor();
    const [tested, like] = ["Ceiling boards in the lean-to", "Panel over the kitchen door"].map((name) =>
      JSON.parse(door.lathbook("show", materialNamed(door, name).id, "--json").out),
    );
    assert.equal(tested.standing, "identified");
    assert.ok(["identified", "strongly presumed"].includes(like.standing), like.standing);
  },

  async "scene 5, living with it: what to do with it, when to look again, its label and calendar"(door, page) {
    const panel = materialNamed(door, "Panel over the kitchen door");
    await page.goto(door.address(`#/house/${roomNamed(door, "Kitchen").storey}/${panel.id}`));
    const sheet = page.getByRole("complementary", { name: panel.name });
    await sheet.getByText(/^Look at it again by /).waitFor();
    await sheet.getByRole("button", { name: "Decide what to do with it" }).click();
    const form = page.getByRole("dialog");
    await form.getByLabel("What is decided").selectOption("box in");
    await form.getByLabel("By when").fill("2027-01-15");
    await saved(page);
    await sheet.getByText(/^Decided: box in/).waitFor();
    await page.goto(door.address("#/jobs/brought-in"));
    await page.getByText(/Panel over the kitchen door: box in/).waitFor();
    assert.equal(exported(door).actions[0].kind, "box in");
    await page.goto(door.address("#/papers/warning-labels"));
    await page.getByRole("img", { name: "Page 1 of warning-labels.pdf" }).waitFor();
    const calendar = door.papers("calendar")("calendar.ics").toString();
    assert.match(calendar.replace(/\r\n /g, ""), /Panel over the kitchen door/);
  },

  async "scene 6, after a mistake: the first ten minutes, then what was breathed"(door, page) {
    await page.goto(door.address("#/house"));
    await page.getByRole("link", { name: "Just disturbed something?" }).click();
    await page.locator(".at-once li").first().waitFor();
    await page.getByRole("link", { name: "Then write down what happened" }).click();
    await page.getByLabel("In a few words").fill("Broke a corner off the panel");
    await page.getByLabel("What was disturbed").selectOption(materialNamed(door, "Panel over the kitchen door").id);
    await page.getByLabel("What was done to it").selectOption("break");
    await page.getByRole("button", { name: "Add a person" }).click();
    const form = page.getByRole("dialog");
    await form.getByLabel("Name, or a word for them").fill("The owner");
    await form.getByLabel("Year of birth").fill("1985");
    await saved(page);
    const owner = page.getByRole("group", { name: "The owner" });
    await owner.getByLabel("Where").selectOption({ label: "Kitchen" });
    await owner.getByLabel("Did the work").check();
    await page.getByRole("button", { name: "Save" }).click();
    await page.getByRole("heading", { level: 1, name: "Broke a corner off the panel" }).waitFor();
    await page.getByRole("img", { name: /^Added lifetime risk of The owner/ }).waitFor();
    const told = JSON.parse(door.lathbook("event", exported(door).events[0].id, "--json").out);
    assert.ok(told.people[0] && JSON.stringify(told.people[0]).includes("PE1"));
  },

  async "scene 7, getting rid of it: no path of one's own for insulating board"(door, page) {
    await page.goto(door.address("#/waste"));
    const form = page.getByRole("dialog");
    await page.getByRole("heading", { name: "Nothing waits to go" }).waitFor();
    await page.getByRole("button", { name: /^Write down .* piece$/ }).click(); // there is one
    await form.getByLabel("What you call it").fill("Boards of the lean-to");
    await form.getByLabel("Of which material").selectOption(materialNamed(door, "Ceiling boards in the lean-to").id);
    await form.getByLabel("Length, m").fill("2.4");
    await form.getByLabel("Width, m").fill("1.2");
    await form.getByLabel("Thickness, mm").fill("6");
    await saved(page);
    await page.getByRole("button", { name: "A vehicle" }).click();
    await form.getByLabel("What you call it").fill("Borrowed van");
    for (const [label, value] of Object.entries({
      "Length inside, m": "2.6",
      "Width inside, m": "1.6",
      "Height inside, m": "1.4",
      "Payload, kg": "700",
    }))
      await form.getByLabel(label).fill(value);
    await saved(page);
    await page.getByRole("button", { name: "A site" }).click();
    await form.getByLabel("What you call it").fill("The council's yard");
    await saved(page);
    await page.getByText("Boards of the lean-to").first().waitFor();
    const told = JSON.parse(door.lathbook("waste", "--json").out);
    assert.equal(told.pieces.length, 1);
    assert.ok(
      told.runs.every((run) => run.trips.length === 0),
      "no trip of one's own carries insulating board",
    );
  },

  async "scene 8, bringing people in: firms, quotes, the order of work, and the certificate that comes back"(
    door,
    page,
  ) {
    await page.goto(door.address("#/jobs"));
    await page.getByRole("link", { name: "Who comes in" }).click();
    const form = page.getByRole("dialog");
    for (const [name, role] of [
      ["A licensed firm", "remover"],
      ["An analyst", "analyst"],
    ]) {
      await page.getByRole("button", { name: "Write down a firm" }).click();
      await form.getByLabel("Name, or a word for them").fill(name);
      await form.getByLabel("What they do").selectOption(role);
      await form.getByLabel("It runs out on").fill(role === "remover" ? "2026-01-31" : "2028-01-31");
      await saved(page);
    }
    await page.getByText("ask for the new one", { exact: false }).waitFor();
    await page.getByRole("button", { name: "Write down a quote" }).click();
    await form.getByLabel("Whose").selectOption({ label: "A licensed firm" });
    await form.getByLabel("How much").fill("1450");
    await form.getByRole("checkbox", { name: "Ceiling boards in the lean-to" }).check();
    await saved(page);
    await page.getByText("£1,450").waitFor();
    await page.getByRole("button", { name: "Write down a certificate" }).click();
    await form.getByLabel("Whose").selectOption({ label: "An analyst" });
    await form.getByRole("group", { name: "For which rooms" }).getByLabel("Extension").check();
    await form.getByLabel("Removal finished on").fill("2026-11-20");
    await form.getByLabel("Issued on").fill("2026-11-19");
    for (const stage of ["Preliminary check", "Air test", "Visual inspection", "Final look"])
      await form.getByRole("checkbox", { name: stage }).check();
    await form.getByLabel("Floor area of the enclosure, m²").fill("7.5");
    await form.getByLabel("Its mean height, m").fill("2.4");
    await saved(page);
    await page.getByRole("button", { name: "Add an air sample to C1" }).click();
    await form.getByLabel("Air drawn, litres").fill("240");
    await form.getByLabel("Fibres counted").fill("3");
    await form.getByLabel("Fields looked at").fill("200");
    await saved(page);
    await page.getByText("Do not go back in on this paper yet.").waitFor();
    const told = JSON.parse(door.lathbook("check", "C1", "--json").out);
    assert.equal(told.pass, false);
    for (const fault of told.faults) await page.getByText(fault.what, { exact: false }).first().waitFor();
    assert.ok(
      told.faults.some((fault) => /order/.test(fault.what + fault.means)),
      "stages out of order are told",
    );
    // What else the paper gives, put right on the sample that is there.
    await page.getByRole("button", { name: "Change air sample 1 of C1" }).click();
    await form.getByLabel("Air drawn, litres").fill("480");
    await form.getByLabel("Fibres counted").fill("22");
    await form.getByRole("button", { name: "More" }).click();
    await form.getByLabel("Filter, exposed part").fill("22");
    await form.getByLabel("Counting circle").fill("100");
    await form.getByLabel("Fibres on its blank").fill("3");
    await form.getByRole("button", { name: "Save" }).click();
    await form.getByText("Is missing", { exact: false }).waitFor(); // half a blank is refused
    await form.getByLabel("Fields looked at on the blank").fill("100");
    await saved(page);
    await page.getByText("before the blank is taken off is not below", { exact: false }).waitFor();
    assert.deepEqual(exported(door).certificates[0].samples, [
      {
        litres: 480,
        fibres: 22,
        fields: 200,
        filter_mm: 22,
        graticule_um: 100,
        blank_fibres: 3,
        blank_fields: 100,
      },
    ]);
    await page.getByRole("button", { name: "Remove air sample 1 of C1" }).click();
    await page.getByText("0 of 2 air samples", { exact: false }).waitFor();
    assert.deepEqual(exported(door).quotes[0].materials, [materialNamed(door, "Ceiling boards in the lean-to").id]);
    await page.goto(door.address("#/jobs/timeline"));
    await page.getByRole("heading", { level: 2 }).first().waitFor();
  },

  async "scene 9, handing on: the pack, and the whole book as open data"(door, page) {
    await page.goto(door.address("#/papers/handover"));
    await page.getByRole("img", { name: "Page 1 of handover.pdf" }).waitFor();
    await page.getByLabel("Health", { exact: true }).check();
    await page.getByRole("img", { name: "Page 1 of handover.pdf" }).waitFor();
    const [download] = await Promise.all([
      page.waitForEvent("download"),
      page.getByRole("link", { name: "Save handover.pdf" }).click(),
    ]);
    assert.ok(
      readFileSync(await download.path()).equals(door.papers("handover", "--without", "health")("handover.pdf")),
    );
    assert.equal(door.lathbook("verify").status, 0);
    const tables = door.papers("tables");
    assert.match(tables("tables/materials.csv").toString(), /Ceiling boards in the lean-to/);
  },
};
