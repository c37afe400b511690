// How thick a piece of a material is likely to be: as the book has it, or as its kind usually is.
import type { Material, Words } from "./api";

interface Thicknesses {
  /** What may be taken over, thinnest first. */
  mm: number[];
  /** The name of its kind. */
  family: string;
  /** An id of the sources; "book" = written down of this very material. */
  source: string;
}

/** What to offer for a piece of this material; nothing where neither the book nor the catalogue knows. */
export function thicknessesOf(
  material: Pick<Material, "family" | "thickness_mm"> | undefined,
  families: Pick<Words["families"][number], "id" | "name" | "thickness_mm">[],
): Thicknesses | undefined {
  const family = families.find((one) => one.id === material?.family);
  if (!material || !family) return undefined;
  if (material.thickness_mm) return { mm: [material.thickness_mm], family: family.name, source: "book" };
  const { low, high, source } = family.thickness_mm;
  return { mm: low === high ? [low] : [low, high], family: family.name, source };
}
