// Samples that are wanted and not back yet: which wait for a result, and which a test plan still asks for.
import type { Book, PlannedTest, Sample } from "./api";

type Held = Pick<Book, "samples" | "results">;

/** The samples of a material that are planned or out, without a result. */
export const waitingOf = ({ samples = [], results = [] }: Held, material: string): Sample[] =>
  samples.filter((sample) => sample.material === material && !results.some((result) => result.sample === sample.id));

/** The sample that stands for a spot of the plan: the one of its material with the spot's label, without a result. */
export const sampleAt = (book: Held, material: string, label: string): Sample | undefined =>
  waitingOf(book, material).find((sample) => sample.label === label);

/** A sample's spot holds so much (data/schemas/book.schema.json). */
const MOST_SPOT = 200;

/** The words of a spot as a sample holds them; of too many, the last parts are left out. */
export function spotOf(words: string): string {
  const parts = words.split("; ");
  while (parts.length > 1 && parts.join("; ").length > MOST_SPOT) parts.pop();
  return parts.join("; ").slice(0, MOST_SPOT);
}

/** What the tests ask for and is not planned: as many of each as are wanting, at the first spots nobody has taken up. */
export function stillToPlan(tests: PlannedTest[], book: Held): { material: string; label: string; spot: string }[] {
  return tests.flatMap(({ material, samples, spots }) => {
    const used = new Set((book.samples ?? []).filter((one) => one.material === material).map((one) => one.label));
    return spots
      .filter((spot) => !used.has(spot.label))
      .slice(0, Math.max(0, samples - waitingOf(book, material).length))
      .map((spot) => ({ material, label: spot.label, spot: spotOf(spot.words) }));
  });
}
