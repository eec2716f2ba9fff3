import { defineConfig } from "vitest/config";

// The page is built beside its source, where the server embeds it. Nothing is
// written inline, since the server allows no inline script or style.
export default defineConfig({
  build: {
    outDir: "../dist",
    emptyOutDir: false,
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    chunkSizeWarningLimit: 1200,
  },
  server: { proxy: { "/api": "http://127.0.0.1:8780" } },
  test: {
    projects: [
      { test: { name: "unit", include: ["test/*.test.ts"], environment: "node" } },
      { test: { name: "browser", include: ["test/browser/*.test.ts"], environment: "node", testTimeout: 120_000, hookTimeout: 120_000, fileParallelism: false, expect: { poll: { timeout: 8_000 } } } },
    ],
  },
});
