// SPDX-License-Identifier: MIT
// Bundle the pages into dist: one file of script, one of style, one page, one sign.
import { build } from "esbuild";
import { copyFile, mkdir, readFile, rm } from "node:fs/promises";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { gzipSync } from "node:zlib";

const here = dirname(fileURLToPath(import.meta.url));
const dist = join(here, "dist");
const FIRST_PAGE_KB = 90; // gzip, all files together

await rm(dist, { recursive: true, force: true });
await mkdir(dist);
await build({
    absWorkingDir: here,
    entryPoints: ["app.js", "app.css"],
    outdir: "dist",
    bundle: true,
    minify: true,
    format: "esm",
    target: "es2021",
    charset: "utf8",
    legalComments: "none",
    logLevel: "warning",
});
for (const name of ["index.html", "icon.svg"]) await copyFile(join(here, name), join(dist, name));

let bytes = 0;
for (const name of ["index.html", "icon.svg", "app.js", "app.css"])
    bytes += gzipSync(await readFile(join(dist, name))).length;
console.log(`web/dist: ${(bytes / 1000).toFixed(1)} kB gzip`);
if (bytes > FIRST_PAGE_KB * 1000) {
    console.error(`the first page may weigh ${FIRST_PAGE_KB} kB at most`);
    process.exit(1);
}
