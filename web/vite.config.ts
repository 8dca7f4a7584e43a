import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig } from "vite";

/** The page is built into the package, so that the server finds it beside itself, in a checkout and in a wheel. */
export default defineConfig({
  plugins: [svelte()],
  base: "./",
  build: {
    outDir: "../src/sidelong/desk/page",
    emptyOutDir: true,
    target: "es2022",
    modulePreload: { polyfill: false },
    // nothing inline: the server's content policy lets no inline script and no data address through
    assetsInlineLimit: 0,
  },
});
