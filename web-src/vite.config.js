import { defineConfig } from "vite";

export default defineConfig({
  base: "/static/",
  publicDir: "public",
  build: {
    outDir: "../src/pitreckon/web/static",
    emptyOutDir: true,
    manifest: true,
    target: "es2022",
    modulePreload: false,
    assetsInlineLimit: 0,
    rollupOptions: { input: "src/main.ts" },
  },
});
