// What the editor takes for a word: a list of completions opens while one is typed, and a
// completion is matched with all of it.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

const place = new URL("../language-configuration.json", import.meta.url);
const { wordPattern } = JSON.parse(readFileSync(place, "utf8"));

/** As VS Code compiles it: a text alone has no flags, and of the flags these are kept. */
function compiled(pattern) {
    const { pattern: source, flags = "" } = typeof pattern === "string" ? { pattern } : pattern;
    const kept = [...new RegExp(source, flags).flags].filter((flag) => "imu".includes(flag));
    return new RegExp(source, `g${kept.join("")}`);
}

/** The word that a cursor behind some text stands in or right behind. */
function wordAt(text, cursor) {
    const words = [...text.matchAll(compiled(wordPattern))];
    const found = words.find(({ index, 0: word }) => index <= cursor && cursor <= index + word.length);
    return found?.[0];
}

for (const name of [
    "bore",
    "return_force",
    "hy_s22",
    "_x9",
    "short-release",
    "Größe",
    "élan_2",
    "сцепление",
    "συμπλέκτης",
    "クラッチ",
    "离合器",
    "클러치",
    "कलच",
    "𝒷ore",
]) {
    test(`${name} is one word, while it is typed and when it is there`, () => {
        const before = "    slave { ";
        for (const typed of [...name].map((_, i) => [...name].slice(0, i + 1).join(""))) {
            // A hyphen belongs to a word once a letter follows it.
            const word = typed.endsWith("-") ? undefined : typed;
            const text = before + typed;
            assert.equal(wordAt(text, text.length), word, text);
        }
        const text = `${before}${name} = 7/8 in }`;
        for (let cursor = before.length; cursor <= before.length + name.length; cursor += 1) {
            assert.equal(wordAt(text, cursor), name, `${text} at ${cursor}`);
        }
    });
}

test("numbers, quotes and braces are no words, and a unit is one of its own", () => {
    const text = "a { bore = 22 mm }";
    assert.equal(wordAt(text, text.indexOf("22") + 1), undefined);
    assert.equal(wordAt(text, text.indexOf("mm") + 1), "mm");
    assert.equal(wordAt(text, text.indexOf("{")), undefined);
});
