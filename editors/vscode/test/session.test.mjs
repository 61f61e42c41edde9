// The session that the worker holds, with a module that only writes down what it is given and falls
// when it is told to.
import assert from "node:assert/strict";
import { mkdtempSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { test } from "node:test";
import { pathToFileURL } from "node:url";
import { build } from "esbuild";

const bundle = join(mkdtempSync(join(tmpdir(), "bitepoint-")), "session.mjs");
const entry = new URL("../src/session.ts", import.meta.url).pathname;
await build({ entryPoints: [entry], outfile: bundle, bundle: true, format: "esm", logLevel: "warning" });
const { FILES, WorkerSession } = await import(pathToFileURL(bundle));

const CAR = "vscode-vfs://github/someone/cars/car.clutch";
const LIBRARY = "vscode-vfs://github/someone/cars/lib.clutch";

/** A session, and the messages that each of its modules was given. */
function begin(falls) {
    const modules = [];
    WebAssembly.instantiate = async () => {
        const memory = new WebAssembly.Memory({ initial: 16 });
        const given = [];
        modules.push(given);
        let length = 0;
        const answer = () => {
            const text = new TextDecoder().decode(new Uint8Array(memory.buffer, 0, length));
            const message = JSON.parse(text);
            if (falls(message)) {
                throw new WebAssembly.RuntimeError("unreachable");
            }
            given.push(message);
            new Uint8Array(memory.buffer).set(new TextEncoder().encode("[]"));
            length = 2;
            return 0;
        };
        return { exports: { memory, room: (bytes) => ((length = bytes), 0), answer, length: () => length } };
    };
    const posted = [];
    const session = new WorkerSession({}, (message) => posted.push(message));
    let id = 0;
    const tell = (method, params) => session.take({ jsonrpc: "2.0", method, params });
    const ask = (method, params) => session.take({ jsonrpc: "2.0", id: (id += 1), method, params });
    const open = (uri, text) =>
        tell("textDocument/didOpen", { textDocument: { uri, languageId: "clutch", version: 1, text } });
    const type = (version, line, character, text, until = character) =>
        tell("textDocument/didChange", {
            textDocument: { uri: CAR, version },
            contentChanges: [{ range: { start: { line, character }, end: { line, character: until } }, text }],
        });
    return { modules, posted, tell, ask, open, type };
}

test("after a trap a module is given each document once, as it stands", async () => {
    const { modules, posted, ask, tell, open, type } = begin(({ method }) => method === "textDocument/hover");
    await ask("initialize", { capabilities: {} });
    await tell("workspace/didChangeConfiguration", { settings: { bitepoint: {} } });
    await tell(FILES, { files: [{ uri: LIBRARY, text: "let a = 1 mm\n" }] });
    await open(CAR, "# Größe 🚗\r\nsystem car {\r\n}\r\n");
    await open(LIBRARY, "let b = 2 mm\n");
    await tell("textDocument/didClose", { textDocument: { uri: LIBRARY } });
    // Key by key, behind a letter of four bytes and two units.
    const typed = "and more, ".repeat(30);
    for (const [at, letter] of [...typed].entries()) {
        await type(at + 2, 0, 10 + at, letter);
    }
    await type(400, 1, 7, "van", 10);
    await ask("textDocument/hover", { textDocument: { uri: CAR }, position: { line: 0, character: 0 } });
    assert.equal(modules.length, 2);
    const [, again] = modules;
    assert.deepEqual(
        again.map(({ method }) => method),
        ["initialize", "workspace/didChangeConfiguration", FILES, "textDocument/didOpen"],
    );
    const { uri, languageId, version, text } = again[3].params.textDocument;
    assert.deepEqual([uri, languageId, version], [CAR, "clutch", 400]);
    assert.equal(text, `# Größe 🚗${typed}\r\nsystem van {\r\n}\r\n`);
    assert.equal(posted.at(-1).error.code, -32603);
    // What is typed now goes on from there.
    await type(401, 1, 7, "bus", 10);
    assert.equal(again.at(-1).method, "textDocument/didChange");
});

test("a text that a module falls over is left out until it is edited", async () => {
    const falls = ({ method, params }) =>
        method === "textDocument/didChange"
            ? params.contentChanges.some(({ text }) => text === "!")
            : /!/.test(params?.textDocument?.text ?? "");
    const { modules, posted, ask, open, type } = begin(falls);
    await ask("initialize", { capabilities: {} });
    await open(LIBRARY, "let b = 2 mm\n");
    await open(CAR, "system car {}\n");
    await type(2, 0, 12, "!");
    assert.match(posted.at(-1).params.message, /didChange failed; this is a mistake in Bitepoint/);
    assert.deepEqual(
        modules[1].filter(({ method }) => method === "textDocument/didOpen").map(({ params }) => params.textDocument.uri),
        [LIBRARY],
    );
    // Still there: the next module falls too.
    await type(3, 0, 0, "# ");
    assert.equal(modules.length, 3);
    await type(4, 0, 14, "", 15);
    assert.equal(modules.length, 3);
    const { method, params } = modules[2].at(-1);
    assert.equal(method, "textDocument/didOpen");
    assert.deepEqual(params.textDocument, { uri: CAR, languageId: "clutch", version: 4, text: "# system car {}\n" });
});
