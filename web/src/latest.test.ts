import { describe, expect, it } from "vitest";
import { onlyLatest } from "./latest";

/** Tasks that end when the test lets them. */
function held() {
  const begun: string[] = [];
  let end: (() => void) | null = null;
  const latest = onlyLatest();
  return {
    begun,
    stop: () => latest.stop(),
    want: (name: string) => {
      latest.want(async () => {
        begun.push(name);
        await new Promise<void>((resolve) => (end = resolve));
      });
    },
    let_go: async () => {
      end!();
      await new Promise((resolve) => setTimeout(resolve));
    },
  };
}

describe("only the latest", () => {
  it("begins at once, and leaves out what was overtaken", async () => {
    const { want, begun, let_go } = held();
    want("a");
    expect(begun).toEqual(["a"]);
    for (const name of ["b", "c", "d"]) want(name);
    expect(begun).toEqual(["a"]);
    await let_go();
    expect(begun).toEqual(["a", "d"]);
    await let_go();
    want("e");
    expect(begun).toEqual(["a", "d", "e"]);
  });
  it("does nothing more once stopped", async () => {
    const { want, stop, begun, let_go } = held();
    want("a");
    want("b");
    stop();
    await let_go();
    expect(begun).toEqual(["a"]);
  });
});
