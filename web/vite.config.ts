import react from "@vitejs/plugin-react";
import type { Plugin } from "vite";
import { defineConfig } from "vitest/config";

/** Names in the page what it fetches later, so that a phone keeps that too (public/sw.js): it may have no link then. */
const namesWhatComesLater: Plugin = {
  name: "names-what-comes-later",
  transformIndexHtml: {
    order: "post",
    handler: (_, { bundle }) =>
      Object.values(bundle ?? {})
        .filter((file) => file.type === "chunk" && !file.isEntry)
        .map(({ fileName }) => ({
          tag: "meta",
          attrs: { name: "later", content: `/${fileName}` },
          injectTo: "head" as const,
        })),
  },
};

// Script and style have their content's hash in their names, so that a browser may keep them for good.
export default defineConfig({
  plugins: [react(), namesWhatComesLater],
  build: {
    target: "es2022",
    assetsInlineLimit: 0,
    modulePreload: false,
    cssCodeSplit: false,
    rollupOptions: {
      output: {
        entryFileNames: "assets/page-[hash].js",
        chunkFileNames: "assets/[name]-[hash].js",
        assetFileNames: "assets/page-[hash][extname]",
      },
    },
  },
  test: { include: ["src/**/*.test.{ts,tsx}"] },
});
