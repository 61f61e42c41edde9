// Makes the page: one file with the script, the core and the first texts in it.
//
//   node build.mjs MODULE [OUTPUT]

import { gzipAsync } from "@gfx/zopfli";
import { build } from "esbuild";
import { createHash } from "node:crypto";
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname } from "node:path";
import { encoded } from "./src/base85.js";

const [, , modulePath, output = "dist/page.html"] = process.argv;
const common = { bundle: true, minify: true, write: false, target: "es2022", logLevel: "warning", legalComments: "none" };

const worker = await build({ ...common, entryPoints: ["src/worker.js"], format: "iife" });
const workerText = {
    name: "worker-text",
    setup({ onResolve, onLoad }) {
        onResolve({ filter: /^worker-text$/ }, () => ({ path: "worker-text", namespace: "worker" }));
        onLoad({ filter: /.*/, namespace: "worker" }, () => ({ contents: worker.outputFiles[0].text, loader: "text" }));
    },
};
const script = await build({ ...common, entryPoints: ["src/main.js"], format: "esm", plugins: [workerText] });

const loader = await build({ ...common, entryPoints: ["src/loader.js"], format: "esm" });
// The policy of the page lets only this script run, and what this script starts.
const inline = loader.outputFiles[0].text.trim();
const hash = `sha256-${createHash("sha256").update(inline).digest("base64")}`;
// A twentieth smaller than by zlib at its best, for some seconds.
const packed = async (bytes) => encoded(Buffer.from(await gzipAsync(bytes, { numiterations: 5 })));
const module = await packed(readFileSync(modulePath));
const main = await packed(Buffer.from(script.outputFiles[0].contents));

// What a shop has not replaced: an example in one file (`bitepoint page` puts its own there).
const texts = { "van.clutch": readFileSync("../../examples/new/hydraulic.clutch", "utf8") };

const parts = {
    STYLE: readFileSync("src/page.css", "utf8"),
    LOADER_HASH: hash,
    TEXTS: JSON.stringify(texts).replaceAll("<", "\\u003c"),
    MODULE: module,
    SCRIPT: main,
    LOADER: inline,
};
const page = readFileSync("src/page.html", "utf8").replace(/LOADER_HASH|STYLE|TEXTS|MODULE|SCRIPT|LOADER/g, (name) => parts[name]);
mkdirSync(dirname(output), { recursive: true });
writeFileSync(output, page);
console.log(`${output}: ${(page.length / 1e6).toFixed(2)} MB; script ${(main.length / 1e6).toFixed(2)}, module ${(module.length / 1e6).toFixed(2)}`);
