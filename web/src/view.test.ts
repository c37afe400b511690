import { describe, expect, it } from "vitest";
import { WHOLE, closer, kept, seen } from "./view";

const whole = { x: -100, y: -800, width: 1000, height: 800 };

describe("looking closer", () => {
  it("sees all to begin with", () => expect(seen(whole, WHOLE)).toEqual(whole));
  it("keeps what is pinned where it was", () => {
    const pin: [number, number] = [0.3, 0.6];
    let view = closer(WHOLE, 2, [0.4, 0.5]);
    const before = seen(whole, view);
    view = closer(view, 1.5, pin);
    const after = seen(whole, view);
    const x = whole.x + pin[0] * whole.width;
    expect((x - before.x) / before.width).toBeCloseTo((x - after.x) / after.width);
  });
  it("never leaves the drawing, nor goes beyond the whole", () => {
    for (const view of [closer(WHOLE, 100, [0, 0]), kept({ zoom: 3, at: [-5, 9] }), closer(closer(WHOLE, 3), 0.01)]) {
      const frame = seen(whole, view);
      expect(frame.x).toBeGreaterThanOrEqual(whole.x - 1e-9);
      expect(frame.y).toBeGreaterThanOrEqual(whole.y - 1e-9);
      expect(frame.x + frame.width).toBeLessThanOrEqual(whole.x + whole.width + 1e-9);
      expect(frame.y + frame.height).toBeLessThanOrEqual(whole.y + whole.height + 1e-9);
    }
  });
});
