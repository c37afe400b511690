import { expect, it } from "vitest";
import { lastSeen } from "./looks";

const look = (material: string, on: string, damage: "none" | "low" | "medium" | "high") => ({ material, on, damage });

it("takes the damage of the latest look, in whatever order they stand, and of no other material's", () => {
  const roof = { id: "M1", damage: "none" as const };
  expect(lastSeen(roof)).toBe("none");
  const looks = [look("M1", "2026-10-11", "medium"), look("M1", "2025-10-05", "low"), look("M2", "2026-11-30", "high")];
  expect(lastSeen(roof, looks)).toBe("medium");
  expect(lastSeen({ id: "M3", damage: "low" }, looks)).toBe("low");
});
