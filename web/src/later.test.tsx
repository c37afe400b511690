// @vitest-environment jsdom
import { Suspense, act } from "react";
import { createRoot } from "react-dom/client";
import { afterEach, beforeEach, expect, it, vi } from "vitest";
import { Came, later } from "./later";
import { text } from "./text";

beforeEach(() => {
  vi.stubGlobal("IS_REACT_ACT_ENVIRONMENT", true);
  vi.spyOn(console, "error").mockImplementation(() => undefined); // React tells of every error it passes on
});
afterEach(() => {
  vi.restoreAllMocks();
  vi.unstubAllGlobals();
});

async function shown(Place: ReturnType<typeof later<object>>) {
  const box = document.createElement("div");
  const root = createRoot(box);
  await act(async () => {
    root.render(
      <Came>
        <Suspense fallback="waits">
          <Place />
        </Suspense>
      </Came>,
    );
    await Promise.resolve();
  });
  return box;
}

it("shows a place once it has come", async () => {
  const box = await shown(later(() => Promise.resolve(() => <h1>Dust</h1>)));
  expect(box.textContent).toBe("Dust");
});

it("says that the program cannot be reached where a place does not come", async () => {
  const box = await shown(later(() => Promise.reject(new TypeError("Failed to fetch"))));
  expect(box.querySelector("[role=alert]")?.textContent).toContain(text.closed);
  expect(box.querySelector("button")?.textContent).toBe(text.retry);
});

it("takes a fault of a place itself for no such thing", async () => {
  const Broken = () => {
    throw new TypeError("undefined is not a function");
  };
  await expect(shown(later(() => Promise.resolve(Broken)))).rejects.toThrow("undefined is not a function");
});
