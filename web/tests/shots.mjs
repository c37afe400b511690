// Pictures of every view, to look at: node tests/shots.mjs PROGRAM FOLDER [VIEW,VIEW]
import { mkdirSync } from "node:fs";
import { openPage } from "./door.mjs";

const [program, folder, only] = process.argv.slice(2);
mkdirSync(folder, { recursive: true });
const door = await openPage(program);
const views = {
  house: "#/house/L1",
  room: "#/house/L1/R4",
  material: "#/house/L1/M14",
  door: "#/house/L1/O2",
  window: "#/house/L1/O17",
  hatch: "#/house/L3/O15",
  walks: "#/house/L1/walk",
  jobs: "#/jobs",
  broughtin: "#/jobs/brought-in",
  job: "#/jobs/J2",
  start: "#/jobs/J1",
  timeline: "#/jobs/timeline",
  testing: "#/testing",
  waste: "#/waste",
  papers: "#/papers",
  paper: "#/papers/register",
  tables: "#/papers/tables",
  dust: "#/dust",
  now: "#/dust/now",
  event: "#/dust/E1",
  happened: "#/dust/new",
};
for (const colorScheme of ["light", "dark"]) {
  for (const width of [1440, 1024, 390]) {
    const page = await door.newPage({ width, height: width === 390 ? 844 : 900, colorScheme });
    for (const [name, hash] of Object.entries(views)) {
      if (only && !only.split(",").includes(name)) continue;
      await page.goto(door.address(hash));
      await page.getByRole("main").locator("h1").waitFor();
      await page.waitForLoadState("networkidle");
      const chart = { event: "svg.air", testing: "svg.stair", timeline: "svg.gantt" }[name];
      if (chart) await page.locator(chart).waitFor();
      await page.waitForTimeout(name === "event" ? 4000 : 300);
      await page.screenshot({ path: `${folder}/${name}-${width}-${colorScheme}.png`, fullPage: true });
    }
    await page.context().close();
  }
}
await door.close();
