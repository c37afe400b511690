import { describe, expect, it } from "vitest";
import { readLength, tellLength } from "./units";

describe("lengths", () => {
  it("are told in metres or in feet and half inches", () => {
    expect(tellLength(3.456, "m")).toBe("3.46 m");
    expect(tellLength(3.048, "ft")).toBe("10 ft");
    expect(tellLength(3.4544, "ft")).toBe("11 ft 4 in");
    expect(tellLength(0.1143, "ft")).toBe("4.5 in");
    expect(tellLength(0.3047, "ft")).toBe("1 ft"); // not "12 in"
    expect(tellLength(-0.001, "ft")).toBe("0 in");
  });
  it("are read as they are typed", () => {
    expect(readLength("3,4", "m")).toBeCloseTo(3.4);
    expect(readLength("340 cm", "ft")).toBeCloseTo(3.4);
    expect(readLength("11 ft 4 in", "m")).toBeCloseTo(3.4544);
    expect(readLength("11' 4\"", "m")).toBeCloseTo(3.4544);
    expect(readLength("11′4″", "m")).toBeCloseTo(3.4544);
    expect(readLength("11 4", "ft")).toBeCloseTo(3.4544);
    expect(readLength("11", "ft")).toBeCloseTo(3.3528);
    expect(readLength("-2.25", "m")).toBeCloseTo(-2.25);
    for (const bad of ["", "wide", "1 2 3", "11 4 m", "--3"]) expect(readLength(bad, "ft")).toBeNull();
    expect(readLength("11 4", "m")).toBeNull();
  });
  it("come back as they were told, to the rounding", () => {
    for (let cm = 1; cm < 1500; cm += 7) {
      for (const units of ["m", "ft"] as const) {
        const back = readLength(tellLength(cm / 100, units), units)!;
        expect(Math.abs(back - cm / 100)).toBeLessThanOrEqual(0.00636);
      }
    }
  });
});
