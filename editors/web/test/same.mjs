// Holds the answers of the WebAssembly module against the output of the native program, for every
// example; and sees that texts as deep as they may be, and deeper, are answered.
//
//   node same.mjs MODULE PROGRAM       (at the root of the project)

import { spawnSync } from "node:child_process";
import { readFileSync, readdirSync } from "node:fs";
import { Core } from "../core.mjs";

const [, , modulePath, program] = process.argv;
const module = new WebAssembly.Module(readFileSync(modulePath));
const core = new Core(module);

const files = readdirSync("examples", { recursive: true })
    .map((name) => `examples/${name}`)
    .filter((name) => name.endsWith(".clutch"))
    .sort();
const texts = Object.fromEntries(files.map((name) => [name, readFileSync(name, "utf8")]));
core.ask({ verb: "texts", texts });

let held = 0;
const differences = [];

// Sines and powers come from two libraries, which may round the last digit otherwise, and what is the
// difference of two lengths, or searched for, has that further in front. All else is the same, byte for byte.
const NUMBER = /(-?\d+\.\d{6,}(?:e-?\d+)?|-?\d+(?:\.\d+)?e-?\d+)/;

function isAlike(one, other) {
    const [ours, theirs] = [one.split(NUMBER), other.split(NUMBER)];
    return ours.length === theirs.length && ours.every((piece, i) => {
        if (i % 2 === 0) return piece === theirs[i];
        const [a, b] = [Number(piece), Number(theirs[i])];
        return Math.abs(a - b) <= 1e-10 * Math.max(1, Math.abs(a));
    });
}

let alike = 0;

function hold(what, seen, args) {
    const { stdout } = spawnSync(program, args, { encoding: "utf8", maxBuffer: 1 << 28 });
    held += 1;
    if (seen === stdout) return;
    const [ours, theirs] = [seen.split("\n"), stdout.split("\n")];
    if (ours.length === theirs.length && ours.every((line, i) => isAlike(line, theirs[i]))) {
        alike += 1;
        return;
    }
    const at = ours.findIndex((line, i) => !isAlike(line, theirs[i] ?? ""));
    differences.push(`${what}, line ${at + 1}:\n  module:  ${ours[at]}\n  program: ${theirs[at]}`);
}

for (const file of files) {
    hold(`check ${file}`, core.ask({ verb: "check", file }), ["check", "--format", "json", file]);
    hold(`calc ${file}`, core.ask({ verb: "calc", file }), ["calc", "--format", "json", file]);
    for (const system of core.ask({ verb: "systems", file })) {
        if (system.choices.length > 0 || !system.worked_out) continue;
        const of = { file, system: system.name };
        hold(`sheet ${file} ${system.name}`, core.ask({ verb: "sheet", ...of, full: true }), [
            "sheet", "--full", file, system.name,
        ]);
        const readings = core.ask({ verb: "askable", ...of });
        if (!readings.some((one) => one.name === "slave_travel")) continue;
        const reading = "slave_travel=0.4 in";
        hold(
            `diagnose ${file} ${system.name}`,
            core.ask({ verb: "diagnose", ...of, readings: [reading] }).json,
            ["diagnose", "--format", "json", file, system.name, "--reading", reading],
        );
    }
}

// The engine's stack is small, and no finding but a trap says so.
const row = (count, lead, tail) =>
    "let x0 = 1 mm\n" +
    Array.from({ length: count }, (_, i) => `let x${i + 1} = ${lead}x${i}${tail}\n`).join("") +
    `system deep {\n    slave { stroke = x${count} + 30 mm }\n}\n`;
const deep = {
    "a row of sums": [row(63, "", " + 0 mm".repeat(120)), false],
    "a row of signs": [row(63, "-".repeat(900), ""), false],
    "a row of parentheses": [row(63, "-(".repeat(32), ")".repeat(32)), false],
    "a row that is too long": [row(200, "", " + 0 mm".repeat(120)), true],
    "parentheses that are too deep": [`let x = ${"(".repeat(1e5)}1${")".repeat(1e5)}\n`, true],
    "very many braces": ["system a { x { ".repeat(1e5), false],
};
for (const [what, [text, isTooDeep]] of Object.entries(deep)) {
    core.ask({ verb: "texts", texts: { "deep.clutch": text } });
    const { findings } = JSON.parse(core.ask({ verb: "check", file: "deep.clutch" }));
    const told = findings.some((finding) => finding.check === "too-large");
    held += 1;
    if (told !== isTooDeep) differences.push(`${what}: too-large is ${told ? "" : "not "}told`);
}

if (differences.length > 0) {
    console.error(`page: ${differences.length} of ${held} answers differ:\n${differences.join("\n")}`);
    process.exit(1);
}
console.log(`page: ${held} answers of the module are those of the program, ${alike} but for their numbers' last digits`);
