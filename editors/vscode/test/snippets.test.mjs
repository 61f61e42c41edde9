// The snippets, each filled with what it proposes and given to the program: a name that the
// schema does not have would be found.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { bitepoint } from "./bitepoint.mjs";

const place = new URL("../snippets/clutch.json", import.meta.url);
const snippets = Object.values(JSON.parse(readFileSync(place, "utf8")));

function filled(body, choice = 0) {
    return body
        .join("\n")
        .replace(/\$\{\d+\|([^|]*)\|\}/g, (_, choices) => choices.split(",").at(choice))
        .replace(/\$\{\d+:([^}]*)\}/g, "$1")
        .replace(/\$\{\d+\}/g, "");
}

/** What each snippet needs around it to stand in a spec. */
function spec(prefix, text) {
    const larkfield = 'use "examples/larkfield.clutch"\n';
    if (["require", "allow", "measured"].includes(prefix)) {
        return `${larkfield}system s from larkfield {\n${text}\n}\n`;
    }
    return text
        .replace(/^system name (".*") from base/, `${larkfield}system s $1 from larkfield`)
        .replace("parts.clutch", "examples/parts/covers.clutch");
}

function findings(text) {
    const answer = JSON.parse(bitepoint(["check", "-", "--format", "json"], text));
    return answer.findings.map(({ check, severity, message }) => ({ check, severity, message }));
}

for (const { prefix, body } of snippets) {
    for (const choice of [0, -1]) {
        test(`${prefix}, choice ${choice}`, () => {
            const text = spec(prefix, filled(body, choice));
            assert.doesNotMatch(text, /\$/, "every place is filled");
            assert.deepEqual(findings(text).filter(({ severity }) => severity === "error"), []);
        });
    }
}

test("a snippet with a name that does not exist would be found", () => {
    assert.notDeepEqual(findings("part slave x { boer = 7/8 in }"), []);
});

test("snippets that are whole statements of a file are in canonical form", () => {
    for (const { prefix, body } of snippets.filter(({ prefix }) => /^(part|system)-/.test(prefix))) {
        const text = `${filled(body).replace(/^ +$/m, "    # …")}\n`;
        assert.equal(bitepoint(["fmt", "-"], text), text, prefix);
    }
});
