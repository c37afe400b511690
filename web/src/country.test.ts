import { expect, test } from "vitest";
import type { Country } from "./api";
import { fieldsOf, rulesOf } from "./country";

const country = (id: string, currency: string): Country => ({
  id,
  name: id,
  note: "",
  as_of: "2026-01-01",
  currency,
  region_is: "nation",
  regions_differ: false,
  regions: [],
});
const countries = [country("au", "AUD"), country("gb", "GBP")];

test("the same rules change nothing", () => {
  const was = rulesOf({ title: "" });
  expect(was).toEqual({ rules: "gb", region: "", currency: "GBP" });
  expect(fieldsOf(was, was, countries)).toEqual({});
});

test("another country brings its currency and takes the region away", () => {
  const was = rulesOf({ title: "", rules: "gb", region: "wales", currency: "EUR" });
  expect(fieldsOf({ ...was, rules: "au", region: "" }, was, countries)).toEqual({
    rules: "au",
    region: null,
    currency: "AUD",
  });
});

test("another region of the same country leaves the currency alone", () => {
  const was = rulesOf({ title: "", rules: "gb", region: "wales", currency: "EUR" });
  expect(fieldsOf({ ...was, region: "england" }, was, countries)).toEqual({ rules: "gb", region: "england" });
});
