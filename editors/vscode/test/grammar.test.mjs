// The highlighting grammar, shown on the examples and held against the schema.
import assert from "node:assert/strict";
import { existsSync, readFileSync, writeFileSync } from "node:fs";
import { test } from "node:test";
import { root, schema } from "./bitepoint.mjs";
import { drawn, highlight, scopeOf } from "./highlight.mjs";

/** UPDATE=1 writes what is seen; read it before you commit it. */
function snapshot(name, text) {
    const place = new URL(`snapshots/${name}.txt`, import.meta.url);
    if (process.env.UPDATE === "1") {
        writeFileSync(place, text);
    }
    assert.ok(existsSync(place), `UPDATE=1 writes ${name}.txt`);
    assert.equal(text, readFileSync(place, "utf8"));
}

for (const example of ["larkfield", "parts/covers", "fails/require-failed"]) {
    test(`examples/${example}.clutch is highlighted as it was`, () => {
        const text = readFileSync(`${root}examples/${example}.clutch`, "utf8");
        snapshot(example.replace("/", "-"), drawn(text));
    });
}

test("the shapes of the language, and what people write by habit", () => {
    snapshot("shapes", drawn(readFileSync(new URL("shapes.clutch", import.meta.url), "utf8")));
});

test("no name of the schema is left out", () => {
    const { checks, blocks, results, units, functions } = schema();
    const count = [checks.length, blocks.size, results.length, units.length, functions.length];
    assert.ok(count.every((n) => n > 4), `the lists were read from the program: ${count}`);
    let fields = 0;
    let choices = 0;
    for (const [block, itsFields] of blocks) {
        assert.equal(scopeOf(block, `x {\n${block} {\n`), "entity.name.type.block", block);
        assert.equal(scopeOf(block, `part ${block} hy_1`), "entity.name.type.block", block);
        for (const [field, itsChoices] of itsFields) {
            fields += 1;
            const scope = scopeOf(field, `x { ${field} = 1 mm }`);
            assert.equal(scope, "variable.other.property.field", `${block}.${field}`);
            for (const choice of itsChoices) {
                choices += 1;
                const scope = scopeOf(choice, `x { a = ${choice}  b = 1 }`);
                assert.equal(scope, "constant.other.choice", `${block}.${field} = ${choice}`);
            }
        }
    }
    assert.ok(fields > 50 && choices > 10, `${fields} fields, ${choices} choices`);
    for (const check of checks) {
        assert.equal(scopeOf(check, `allow ${check} "why"`), "support.constant.check");
    }
    for (const result of results) {
        const scope = scopeOf(result, `require ${result} >= 1 mm`);
        assert.equal(scope, "variable.other.property.result", result);
    }
    for (const unit of units) {
        assert.equal(scopeOf(unit, `x { y = 3 ${unit} }`), "keyword.other.unit", unit);
        assert.equal(scopeOf(unit, `x { y = 3${unit}  z = 1 }`), "keyword.other.unit", unit);
    }
    for (const name of functions) {
        assert.equal(scopeOf(name, `x { y = ${name}(1) }`), "support.function", name);
    }
});

test("every letter of every example belongs to something", () => {
    for (const example of ["larkfield", "parts/covers", "parts/cylinders"]) {
        const text = readFileSync(`${root}examples/${example}.clutch`, "utf8");
        const bare = highlight(text)
            .flat()
            .filter(({ text, scope }) => scope === "source" && text.trim() !== "");
        assert.deepEqual(bare, []);
    }
});
