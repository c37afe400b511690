// The pictures of docs/guide/ and of the README, from the running program: node tests/guide.mjs PROGRAM FOLDER [NAME,NAME]
//
// WebP, as Chromium itself packs it. Each picture is what a person doing the guide's steps sees on the demo house, or on a
// new book where the guide begins with one.
import { mkdirSync, statSync, writeFileSync } from "node:fs";
import { openPage } from "./door.mjs";

const [program, folder, only] = process.argv.slice(2);
const DESKTOP = { width: 1200, height: 800 };
const PHONE = { width: 390, height: 844 };
const LARGEST = 150_000; // bytes of a picture in the repository

/** A certificate with too little air, as the guide's commands write it down. */
const CERTIFICATE = [
  ["add", "party", "name=An air analyst", "role=analyst", "licence_expires_on=2027-06-30"],
  [
    "add",
    "certificate",
    "party=PA5",
    "materials=M14",
    "area_m2=10.1",
    "height_m=2.4",
    "work_finished_on=2026-12-04",
  ].concat(["issued_on=2026-12-05", "stages=preliminary check, visual inspection, air test, final look"]),
  ["add", "C1/samples", "litres=400", "fibres=3", "fields=200"],
];

const sheet = (page) => page.getByRole("complementary");
const dialog = (page) => page.getByRole("dialog");

/** By name: the book it is of, the size of the window, where it starts, and what is done before it is taken. */
const PICTURES = {
  begin: {
    make: "new",
    async to(page) {
      await page.getByLabel("What is it called?").fill("Our house");
      await page.getByLabel("first year").first().fill("1934");
      await page.getByLabel("last year").first().fill("1936");
      await page.getByRole("radio", { name: "Terraced house" }).check();
      await page.getByLabel("An extension at the back").check();
      await page.getByLabel("It was made into a room").check();
      await page.getByRole("group", { name: "Loft conversion: built" }).getByLabel("first year").fill("1978");
      await page.getByRole("heading", { level: 1 }).scrollIntoViewIfNeeded();
    },
  },
  walk: {
    hash: "#/house/L1/R4",
    size: PHONE,
    async to(page) {
      await page.getByRole("button", { name: "Walk through this room" }).click();
      await page.getByText("answered", { exact: false }).first().waitFor();
    },
  },
  write: {
    hash: "#/house/L1/R3",
    size: PHONE,
    async to(page) {
      await page.getByRole("button", { name: "Write down a material here" }).click();
      await dialog(page).getByLabel("What you call it").fill("Board behind the gas fire");
      await dialog(page).getByLabel("What it is").selectOption("insulating-board");
      await dialog(page).getByLabel("Ceiling, floor or wall").selectOption("wall-1");
    },
  },
  house: { hash: "#/house/L1/M14", size: { width: 1280, height: 800 }, to: (page) => sheet(page).waitFor() },
  material: { hash: "#/house/L1/M2", to: (page) => sheet(page).waitFor() },
  job: {
    hash: "#/jobs/J2",
    to: (page) =>
      page
        .getByRole("img", { name: /Plan of the/ })
        .first()
        .waitFor(),
  },
  cut: {
    hash: "#/jobs/J2",
    async to(page) {
      await page.getByRole("button", { name: "Add a cut" }).click();
      const form = dialog(page);
      await form.getByLabel("What is done").selectOption("drill");
      await form.getByLabel("Room").selectOption("R4");
      await form.getByLabel("Ceiling, floor or wall").selectOption("ceiling");
      await form.getByLabel("How deep").selectOption("through");
      const face = await form.getByRole("img", { name: /^The ceiling of / }).boundingBox();
      await page.mouse.click(face.x + face.width * 0.4, face.y + face.height * 0.5);
      await page.waitForTimeout(1500); // the verdict follows the hand
    },
  },
  testing: { hash: "#/testing", to: (page) => page.locator(".test").first().waitFor() },
  living: { hash: "#/house/L1/M6", size: { width: 1200, height: 1000 }, to: (page) => sheet(page).waitFor() },
  now: { hash: "#/dust/now", size: PHONE, to: (page) => page.getByRole("heading", { level: 1 }).waitFor() },
  event: {
    hash: "#/dust/E1",
    size: { width: 1200, height: 1000 },
    async to(page) {
      await page.locator("svg.air").waitFor();
      await page.getByText(/draws of what is unknown/).waitFor({ timeout: 60_000 });
      await page.locator("svg.air").scrollIntoViewIfNeeded();
    },
  },
  waste: { hash: "#/waste", to: (page) => page.getByRole("img", { name: /^Trip 1/ }).scrollIntoViewIfNeeded() },
  timeline: { hash: "#/jobs/timeline", to: (page) => page.locator("svg.gantt").waitFor() },
  brief: { hash: "#/papers/J2", to: (page) => page.getByRole("img", { name: /^Page 1/ }).waitFor() },
  handover: { hash: "#/papers/handover", to: (page) => page.getByRole("img", { name: /^Page 1/ }).waitFor() },
  // Last: these change the book.
  certificate: {
    hash: "#/jobs",
    size: { width: 1200, height: 1000 },
    async to(page, door) {
      for (const words of CERTIFICATE) door.lathbook(...words);
      await page.goto(door.address("#/jobs/brought-in"));
      await page.getByText("Do not go back in on this paper yet.").scrollIntoViewIfNeeded();
    },
  },
  moved: {
    hash: "#/testing",
    async to(page) {
      await page.getByRole("button", { name: "Enter its result: S1" }).click();
      await dialog(page).getByLabel("Asbestos found").check();
      await dialog(page).getByLabel("Chrysotile").check();
      await dialog(page).getByRole("button", { name: "Save" }).click();
      await page.getByRole("status", { name: "What this result moved" }).waitFor();
    },
  },
};

async function webp(page) {
  const session = await page.context().newCDPSession(page);
  const { data } = await session.send("Page.captureScreenshot", { format: "webp", quality: 80 });
  return Buffer.from(data, "base64");
}

mkdirSync(folder, { recursive: true });
for (const make of ["demo", "new"]) {
  const wanted = Object.entries(PICTURES).filter(
    ([name, one]) => (one.make ?? "demo") === make && (!only || only.split(",").includes(name)),
  );
  if (wanted.length === 0) continue;
  const door = await openPage(program, make);
  for (const [name, one] of wanted) {
    const page = await door.newPage(one.size ?? DESKTOP);
    await page.goto(door.address(one.hash ?? "#/"));
    await page.getByRole("heading", { level: 1 }).waitFor();
    await one.to(page, door);
    await page.waitForLoadState("networkidle");
    await page.waitForTimeout(400);
    const file = `${folder}/${name}.webp`;
    writeFileSync(file, await webp(page));
    const bytes = statSync(file).size;
    console.log(`${file} ${bytes}`);
    if (bytes > LARGEST) throw new Error(`${file} is larger than ${LARGEST} bytes`);
    await page.context().close();
  }
  await door.close();
}
