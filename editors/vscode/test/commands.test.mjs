// The commands of the extension: each is registered, the walkthrough's links lead somewhere, and the
// program answers what they ask of it.
import assert from "node:assert/strict";
import { existsSync, readFileSync, readdirSync } from "node:fs";
import { test } from "node:test";
import { bitepoint } from "./bitepoint.mjs";

const here = (path) => new URL(`../${path}`, import.meta.url);
const { contributes } = JSON.parse(readFileSync(here("package.json"), "utf8"));
const sources = readdirSync(here("src")).map((name) => readFileSync(here(`src/${name}`), "utf8"));
const known = new Set(contributes.commands.map(({ command }) => command));

test("every command is registered, and every one that is registered is known", () => {
    const registered = new Set(
        sources.flatMap((text) =>
            [...text.matchAll(/(?:command\(|^ {4})"(bitepoint\.\w+)"[,:]/gm)].map(([, name]) => name),
        ),
    );
    assert.deepEqual([...registered].sort(), [...known].sort());
});

test("a menu names commands that there are", () => {
    for (const [menu, entries] of Object.entries(contributes.menus)) {
        for (const { command } of entries) {
            assert.ok(known.has(command), `${menu}: ${command}`);
        }
    }
});

test("the walkthrough leads from the program to the sheet", () => {
    const [{ steps }] = contributes.walkthroughs;
    for (const { id, description, media } of steps) {
        assert.ok(existsSync(here(media.markdown)), media.markdown);
        const links = [...description.matchAll(/\(command:([\w.]+)\)/g)].map(([, name]) => name);
        assert.equal(links.length, 1, id);
        assert.ok(known.has(links[0]), `${id}: ${links[0]}`);
    }
});

const questions = readFileSync(here("src/questions.ts"), "utf8");
for (const [, command, verb, more] of questions.matchAll(
    /"bitepoint\.(\w+)": \{\s+verb: "(\w+)",\s+more: \[(.*?)\]/g,
)) {
    test(`the program answers ${command}`, () => {
        const behind = more === "" ? [] : JSON.parse(`[${more}]`);
        const system = verb === "compare" ? [] : ["larkfield"];
        const said = bitepoint([verb, "examples/larkfield.clutch", ...system, ...behind]);
        assert.notEqual(said.trim(), "", `${verb} says nothing`);
    });
}

test("the program lists the ways of a new spec, and starts each in inches", () => {
    const ways = [...bitepoint(["new", "--list"]).matchAll(/^ *(\S+) +(\S.*)$/gm)];
    assert.ok(ways.length >= 4);
    for (const [, way] of ways) {
        assert.match(bitepoint(["new", way, "--units", "in"]), /\bin\b/, way);
    }
});
