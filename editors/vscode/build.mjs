// Bundles the extension, and the script of the preview that runs inside its page; brings the
// licences along.
import { build } from "esbuild";
import { existsSync } from "node:fs";
import { copyFile, mkdir, readFile, readdir, writeFile } from "node:fs/promises";

const common = { bundle: true, minify: true, logLevel: "warning" };
const { metafile } = await build({
    ...common,
    entryPoints: ["src/extension.ts"],
    outfile: "dist/extension.js",
    platform: "node",
    format: "cjs",
    target: "node20",
    external: ["vscode"],
    metafile: true,
});
// The same in a browser, where the server is a module in a worker.
const inBrowser = await build({
    ...common,
    entryPoints: ["src/browser.ts"],
    outfile: "dist/browser.js",
    platform: "browser",
    format: "cjs",
    target: "es2022",
    external: ["vscode"],
    metafile: true,
});
const inWorker = await build({
    ...common,
    entryPoints: ["src/worker.ts"],
    outfile: "dist/worker.js",
    platform: "browser",
    format: "iife",
    target: "es2022",
    metafile: true,
});
// What `.ci/page` has built, or whoever packages this; without it there is nothing to run in a browser.
const module = process.env["BITEPOINT_WORKER"] ?? "../../target/page/build/wasm32-unknown-unknown/release/bitepoint_worker.wasm";
await mkdir("dist", { recursive: true });
if (existsSync(module)) {
    await copyFile(module, "dist/bitepoint.wasm");
} else {
    console.warn(`${module} is not there: this extension will not run in a browser`);
}
await build({
    ...common,
    entryPoints: ["src/page.ts"],
    outfile: "dist/page.js",
    platform: "browser",
    format: "iife",
    target: "es2022",
});
await copyFile("../../LICENSE", "LICENSE");

// What the licences of the bundled packages ask for.
const ofPackage = /^node_modules\/(?:.*\/node_modules\/)?(?:@[^/]+\/)?[^/]+/;
const inputs = { ...metafile.inputs, ...inBrowser.metafile.inputs, ...inWorker.metafile.inputs };
const inside = Object.keys(inputs).map((path) => ofPackage.exec(path)?.[0]);
const notices = [];
for (const folder of [...new Set(inside)].filter((folder) => folder !== undefined).sort()) {
    const { name, version, license } = JSON.parse(await readFile(`${folder}/package.json`, "utf8"));
    const file = (await readdir(folder)).find((file) => /^licen[cs]e/i.test(file));
    const text = file === undefined ? "" : await readFile(`${folder}/${file}`, "utf8");
    notices.push(`${name} ${version} (${license})\n\n${text.trim()}\n`);
}
await writeFile("dist/NOTICES.txt", notices.join("\n----\n\n"));
