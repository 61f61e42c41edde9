// Bytes of every length and value come back.
//
//   node base85.mjs

import assert from "node:assert/strict";
import { randomBytes } from "node:crypto";
import { decoded, encoded } from "../src/base85.js";

for (let length = 0; length < 600; length++) {
    for (const bytes of [randomBytes(length), Buffer.alloc(length, 0), Buffer.alloc(length, 255)]) {
        const text = encoded(bytes);
        assert.match(text, /^[!-~]*$/);
        assert.ok(!/[<>&"'`$\\]/.test(text));
        assert.deepEqual(Buffer.from(decoded(text)), bytes);
    }
}
console.log("base85: bytes of 600 lengths come back");
