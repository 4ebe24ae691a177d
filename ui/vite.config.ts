import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig } from "vitest/config";

/** Where `npm run dev` finds a running `meltrange serve`. */
const server = process.env["MELTRANGE_URL"] ?? "http://127.0.0.1:8437";

export default defineConfig({
  plugins: [svelte()],
  base: "./",
  build: {
    target: "es2022",
    modulePreload: false,
    assetsInlineLimit: 2048,
    // The server reads from it which files the camera page for phones needs.
    manifest: true,
    rollupOptions: { input: ["index.html", "camera.html"] },
  },
  server: { host: "127.0.0.1", proxy: { "/api": { target: server, ws: true } } },
  resolve: process.env["VITEST"] ? { conditions: ["browser"] } : {},
  test: {
    environment: "jsdom",
    include: ["src/**/*.test.ts"],
  },
});
