// The program that the tests hold the extension against: $BITEPOINT, or the one that
// `cargo build --release` has made.
import { spawnSync } from "node:child_process";
import { fileURLToPath } from "node:url";

export const root = fileURLToPath(new URL("../../../", import.meta.url));
const program = process.env.BITEPOINT ?? `${root}target/release/bitepoint`;

/** What the program prints, whatever its exit status. */
export function bitepoint(args, input = "") {
    const env = { ...process.env, NO_COLOR: "1" };
    const run = spawnSync(program, args, { input, encoding: "utf8", cwd: root, env });
    if (run.error) {
        throw run.error;
    }
    return run.stdout;
}

/** The first words of the indented lines behind one heading of `explain`, up to another. */
function names(text, from, to) {
    const [, behind = ""] = text.split(new RegExp(`^${from}.*$`, "m"));
    const [section] = to === undefined ? [behind] : behind.split(new RegExp(`^${to}`, "m"));
    return [...section.matchAll(/^ {2}(\S+)/gm)].map((found) => found[1]);
}

/** All names that a spec may hold, as `bitepoint explain` lists them. */
export function schema() {
    const all = bitepoint(["explain"]);
    const units = bitepoint(["explain", "units"]);
    const blocks = new Map();
    for (const block of names(all, "Blocks", "Results")) {
        const fields = new Map();
        const parts = bitepoint(["explain", block]).split("\n\n");
        const rows = parts.find((part) => /^ {2}\S+ {2,}\S.*;/m.test(part)) ?? "";
        for (const [, field] of rows.matchAll(/^ {2}([a-z_]+) {2,}/gm)) {
            const choices = /^\S+ \(([a-z0-9_]+(?: \| [a-z0-9_]+)+);/.exec(
                bitepoint(["explain", `${block}.${field}`]),
            );
            fields.set(field, choices?.[1].split(" | ") ?? []);
        }
        blocks.set(block, fields);
    }
    return {
        checks: names(all, "Checks", "Blocks"),
        blocks,
        results: names(all, "Results", "`explain"),
        // Of the currencies the list names the first, with a comma behind it.
        units: names(units, "Units", "Functions").map((name) => name.replace(/,$/, "")),
        functions: names(units, "Functions"),
    };
}
