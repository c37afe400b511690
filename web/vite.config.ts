import react from "@vitejs/plugin-react";
import { defineConfig } from "vitest/config";

// Script and style have their content's hash in their names, so that a browser may keep them for good.
export default defineConfig({
  plugins: [react()],
  build: {
    target: "es2022",
    assetsInlineLimit: 0,
    modulePreload: false,
    cssCodeSplit: false,
    rollupOptions: {
      output: {
        inlineDynamicImports: true,
        entryFileNames: "assets/page-[hash].js",
        assetFileNames: "assets/page-[hash][extname]",
      },
    },
  },
  test: { include: ["src/**/*.test.ts"] },
});
