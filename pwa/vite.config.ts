import { createHash } from "node:crypto";
import { readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join, relative } from "node:path";
import { brotliCompressSync } from "node:zlib";
import { build, type Plugin } from "vite";
import { defineConfig } from "vitest/config";

const DIST = "dist";
const WORKER = "sw.js";

function files(folder: string): string[] {
  return readdirSync(folder, { withFileTypes: true }).flatMap((entry) =>
    entry.isDirectory() ? files(join(folder, entry.name)) : [join(folder, entry.name)],
  );
}

/** Every built file with a digest of its bytes: what the worker keeps, whole or not at all. */
function manifest(): { url: string; revision: string }[] {
  return files(DIST)
    .map((path) => relative(DIST, path))
    .filter((name) => name !== WORKER && !name.endsWith(".br") && !name.endsWith(".map"))
    .sort()
    .map((name) => ({
      url: `/${name}`,
      revision: createHash("sha256")
        .update(readFileSync(join(DIST, name)))
        .digest("hex")
        .slice(0, 16),
    }));
}

/** Builds src/sw.ts into one stable file that carries the manifest, then a Brotli twin beside each file. */
function worker(): Plugin {
  return {
    name: "worker",
    apply: "build",
    async closeBundle() {
      await build({
        configFile: false,
        logLevel: "warn",
        publicDir: false,
        define: {
          __MANIFEST__: JSON.stringify(manifest()),
          "process.env.NODE_ENV": '"production"',
        },
        build: {
          emptyOutDir: false,
          outDir: DIST,
          lib: { entry: "src/sw.ts", formats: ["iife"], name: "worker", fileName: () => WORKER },
        },
      });
      for (const path of files(DIST).filter((name) =>
        /\.(html|js|css|svg|json|webmanifest)$/.test(name),
      ))
        writeFileSync(`${path}.br`, brotliCompressSync(readFileSync(path)));
    },
  };
}

export default defineConfig({
  plugins: [worker()],
  build: { outDir: DIST, target: "es2022", modulePreload: { polyfill: false } },
  test: { environment: "happy-dom", include: ["tests/**/*.test.{ts,tsx}"] },
});
