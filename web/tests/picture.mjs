// The picture of the page in the README: node tests/picture.mjs PROGRAM FILE
import { openPage } from "./door.mjs";

const [program, file] = process.argv.slice(2);
const door = await openPage(program);
const page = await door.newPage({ width: 1280, height: 800 });
await page.goto(door.address("#/house/L1/M14"));
await page.getByRole("complementary").waitFor();
await page.waitForTimeout(500);
await page.screenshot({ path: file });
await door.close();
