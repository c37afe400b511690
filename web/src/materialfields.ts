// What is asked of a material, wherever on the page one is written down; the rest under "More about it".
export const MATERIAL_FIELDS = ["name", "family", "room", "face", "damage", "last_inspected"];
export const MATERIAL_MORE = [
  "extent",
  "surface",
  "years",
  "phase",
  "proof",
  "thickness_mm",
  "layer",
  "overhead_or_hard_to_reach",
  "removed_on",
  "notes",
];
