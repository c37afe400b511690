import react from "@vitejs/plugin-react";
import { defineConfig } from "vitest/config";

// The page goes into the binary under fixed names: there is one of it, and it is never cached.
export default defineConfig({
  plugins: [react()],
  build: {
    target: "es2022",
    assetsInlineLimit: 0,
    modulePreload: false,
    cssCodeSplit: false,
    rollupOptions: {
      output: { inlineDynamicImports: true, entryFileNames: "page.js", assetFileNames: "page[extname]" },
    },
  },
  test: { include: ["src/**/*.test.ts"] },
});
