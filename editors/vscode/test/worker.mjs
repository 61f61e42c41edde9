// The server as the extension runs it in a browser: the session in Node, and the worker itself in
// headless Chromium. In VS Code itself `.ci/editors vscode-web` drives it.
//
//   node test/worker.mjs MODULE PROGRAM       (after `npm run build`; playwright-core from ../web)

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { build } from "esbuild";

const [modulePath, program] = process.argv.slice(2).map((path) => resolve(path));
const here = (path) => new URL(`../${path}`, import.meta.url);
const bytes = readFileSync(modulePath);
const examples = new URL("../../../examples/", import.meta.url);
const text = (name) => readFileSync(new URL(name, examples), "utf8");

// ---- what is asked, of either -------------------------------------------------------------

const ROOT = "vscode-vfs://github/someone/cars";
const CAR = `${ROOT}/larkfield.clutch`;
const able = {
    textDocument: { diagnostic: {}, hover: { contentFormat: ["markdown"] } },
    workspace: {
        workspaceEdit: { documentChanges: true },
        fileOperations: { willRename: true },
        diagnostics: { refreshSupport: true },
    },
};
const spec = text("larkfield.clutch");
const uses = [...spec.matchAll(/^use "(.*)"$/gm)].map(([, path]) => path);
assert.ok(uses.length > 0, "the example uses no library");

/** A conversation, the same for the session and for the worker: messages in, those of the server out. */
async function converse(send, { heard, forget }) {
    let last = 0;
    const ask = async (method, params) => {
        const id = (last += 1);
        await send({ jsonrpc: "2.0", id, method, params });
        return heard((message) => message.id === id && message.method === undefined);
    };
    const tell = (method, params) => send({ jsonrpc: "2.0", method, params });
    const folders = [{ uri: ROOT, name: "cars" }];
    const begun = await ask("initialize", { processId: null, rootUri: null, capabilities: able, workspaceFolders: folders });
    assert.equal(begun.result.serverInfo.name, "bitepoint");
    const { filters } = begun.result.capabilities.workspace.fileOperations.willRename;
    assert.ok(filters.every((filter) => !("scheme" in filter)), "renames in any scheme");
    await tell("initialized", {});
    const open = (uri, text) =>
        tell("textDocument/didOpen", { textDocument: { uri, languageId: "clutch", version: 1, text } });
    const found = async (uri) =>
        (await ask("textDocument/diagnostic", { textDocument: { uri } })).result.items.map(({ code }) => code);
    await open(CAR, spec);
    assert.ok((await found(CAR)).includes("use-missing"), "nothing was given yet");
    await tell("bitepoint/files", { files: uses.map((path) => ({ uri: `${ROOT}/${path}`, text: text(path) })) });
    await heard((message) => message.method === "workspace/diagnostic/refresh");
    const codes = await found(CAR);
    // The program finds the same in the same file on the disk.
    const said = JSON.parse(checked("examples/larkfield.clutch"));
    const native = said.findings.filter(({ file }) => /larkfield\.clutch$/.test(file));
    assert.deepEqual([...codes].sort(), native.map(({ check }) => check).sort());
    const line = spec.split("\n").findIndex((line) => /^system /.test(line));
    const hover = await ask("textDocument/hover", { textDocument: { uri: CAR }, position: { line, character: 8 } });
    assert.match(hover.result.contents.value, /releases at/);
    const curve = await ask("bitepoint/curve", { textDocument: { uri: CAR } });
    assert.ok(curve.result.rows.length > 10);
    // A library that moves keeps its users.
    const [used] = uses;
    const files = [{ oldUri: `${ROOT}/${used}`, newUri: `${ROOT}/shelf/moved.clutch` }];
    const edit = await ask("workspace/willRenameFiles", { files });
    const car = edit.result.documentChanges.find((change) => change.textDocument.uri === CAR);
    assert.equal(car.edits[0].newText, '"shelf/moved.clutch"');
    // Half a word under the cursor is told only when nothing more is typed.
    const change = (version, character, text) => {
        const at = { line: line + 1, character };
        const contentChanges = [{ range: { start: at, end: at }, text }];
        return tell("textDocument/didChange", { textDocument: { uri: CAR, version }, contentChanges });
    };
    await change(2, 0, "    \n");
    await change(3, 4, "peda");
    forget();
    assert.ok(!(await found(CAR)).includes("syntax"));
    await heard((message) => message.method === "workspace/diagnostic/refresh");
    assert.ok((await found(CAR)).includes("syntax"));
    return { ask, found };
}

function checked(path) {
    const root = new URL("../../../", import.meta.url);
    try {
        return execFileSync(program, ["check", path, "--format", "json"], { cwd: root, encoding: "utf8" });
    } catch (error) {
        return error.stdout;
    }
}

/** Messages as they come, and a wait for one. */
function mailbox() {
    const came = [];
    const waiting = [];
    const look = () => {
        for (const one of [...waiting]) {
            const at = came.findIndex(one.wanted);
            if (at >= 0) {
                waiting.splice(waiting.indexOf(one), 1);
                one.resolve(came.splice(at, 1)[0]);
            }
        }
    };
    const post = (message) => (came.push(message), look());
    const heard = (wanted) => new Promise((resolve) => (waiting.push({ wanted, resolve }), look()));
    const forget = () => void came.splice(0);
    return { post, heard, forget };
}

// ---- the session in Node ------------------------------------------------------------------

const bundle = join(mkdtempSync(join(tmpdir(), "bitepoint-")), "session.mjs");
await build({ entryPoints: [here("src/session.ts").pathname], outfile: bundle, bundle: true, format: "esm", logLevel: "warning" });
const { WorkerSession } = await import(pathToFileURL(bundle));
const module = await WebAssembly.compile(bytes);
{
    // A module that falls over one request, as over a mistake of ours.
    const instantiate = WebAssembly.instantiate;
    let falls = false;
    let begun = 0;
    WebAssembly.instantiate = async (...args) => {
        begun += 1;
        const { exports } = await instantiate(...args);
        const answer = () => {
            if (!falls) return exports.answer();
            falls = false;
            throw new WebAssembly.RuntimeError("unreachable");
        };
        const { memory, room, length } = exports;
        return { exports: { memory, room, length, answer } };
    };
    const { post, ...mail } = mailbox();
    const session = new WorkerSession(module, post);
    const { ask, found } = await converse((message) => session.take(message), mail);
    const before = await found(CAR);
    falls = true;
    const fallen = await ask("textDocument/hover", { textDocument: { uri: CAR }, position: { line: 0, character: 0 } });
    assert.equal(fallen.error.code, -32603);
    assert.equal(begun, 2);
    // It knows each text as it stands.
    assert.deepEqual(await found(CAR), before);
    WebAssembly.instantiate = instantiate;
    console.log("the session in Node: fine, also after a trap");
}

// ---- the worker in Chromium ---------------------------------------------------------------

const { chromium } = createRequire(here("../web/package.json"))("playwright-core");
const browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    args: ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});
try {
    const page = await browser.newPage();
    const wrong = [];
    page.on("pageerror", (error) => wrong.push(error.message));
    page.on("request", (request) => /^https?:/.test(request.url()) && wrong.push(`asks for ${request.url()}`));
    const { post, ...mail } = mailbox();
    await page.exposeFunction("post", post);
    await page.evaluate(
        ([script, module]) => {
            const address = URL.createObjectURL(new Blob([script], { type: "text/javascript" }));
            const worker = new Worker(address);
            worker.onmessage = ({ data }) => window.post(data);
            worker.onerror = ({ message }) => window.post({ method: "error", message });
            worker.postMessage({ module: Uint8Array.from(atob(module), (c) => c.charCodeAt(0)) });
            window.send = (message) => worker.postMessage(message);
        },
        [readFileSync(here("dist/worker.js"), "utf8"), bytes.toString("base64")],
    );
    await converse((message) => page.evaluate((message) => window.send(message), message), mail);
    assert.deepEqual(wrong, []);
    console.log("the worker in Chromium: fine");
} finally {
    await browser.close();
}

// What the extension is made of in a browser needs nothing that is not there.
const { browser: entry } = JSON.parse(readFileSync(here("package.json"), "utf8"));
const script = readFileSync(here(entry), "utf8");
const needed = [...script.matchAll(/\brequire\("([^"]+)"\)/g)].map(([, name]) => name);
assert.deepEqual([...new Set(needed)], ["vscode"]);
process.exit(0);
