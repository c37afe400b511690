// Lays a gzip copy beside each file of dist/ that becomes smaller by it: the program sends those to whoever takes them.
import { readFileSync, readdirSync, writeFileSync } from "node:fs";
import { constants, gzipSync } from "node:zlib";

const dist = new URL("dist/", import.meta.url);
for (const name of readdirSync(dist, { recursive: true })) {
  if (!/\.(js|css|html|svg)$/.test(name)) continue;
  const bytes = readFileSync(new URL(name, dist));
  const smaller = gzipSync(bytes, { level: constants.Z_BEST_COMPRESSION });
  if (smaller.length < 0.9 * bytes.length) writeFileSync(new URL(`${name}.gz`, dist), smaller);
}
