// What was seen of a material, and when.
import type { Material } from "./api";

/** The damage as it was last seen: at the latest look, or when it was written down. */
export function lastSeen(
  material: Pick<Material, "id" | "damage">,
  looks: readonly { material: string; on: string; damage: Material["damage"] }[] = [],
): Material["damage"] {
  const own = looks.filter((look) => look.material === material.id).sort((a, b) => a.on.localeCompare(b.on));
  return own.at(-1)?.damage ?? material.damage;
}
