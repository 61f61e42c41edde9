// The highlighting of a text, by the engine that editors use.
import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import oniguruma from "vscode-oniguruma";
import textmate from "vscode-textmate";

const place = new URL("../syntaxes/clutch.tmLanguage.json", import.meta.url);
const wasm = createRequire(import.meta.url).resolve("vscode-oniguruma/release/onig.wasm");
await oniguruma.loadWASM(await readFile(wasm));
const registry = new textmate.Registry({
    onigLib: Promise.resolve({
        createOnigScanner: (patterns) => new oniguruma.OnigScanner(patterns),
        createOnigString: (text) => new oniguruma.OnigString(text),
    }),
    loadGrammar: async () => textmate.parseRawGrammar(await readFile(place, "utf8"), place.pathname),
});
const grammar = await registry.loadGrammar("source.clutch");

/** The tokens of a text, line by line: `{ text, scope }`, the innermost scope without the
 * language's name at its end. */
export function highlight(text) {
    let state = textmate.INITIAL;
    return text.split("\n").map((line) => {
        const found = grammar.tokenizeLine(line, state);
        state = found.ruleStack;
        return found.tokens.map(({ startIndex, endIndex, scopes }) => ({
            text: line.slice(startIndex, endIndex),
            scope: scopes.at(-1).replace(/\.clutch$/, ""),
        }));
    });
}

/** The scope of a word in a text; the word stands in it once. */
export function scopeOf(word, text) {
    const found = highlight(text).flat().filter((token) => token.text === word);
    return found.length === 1 ? found[0].scope : `${found.length} tokens “${word}”`;
}

/** A text with what each piece of a line is, below the line; punctuation speaks for itself. */
export function drawn(text) {
    return highlight(text)
        .map((tokens) => {
            const told = tokens.filter(({ scope }) => !/^(source$|punctuation\.)/.test(scope));
            const line = tokens.map(({ text }) => text).join("");
            const notes = told.map(({ text, scope }) => `    ${text}  → ${scope}`);
            return [line, ...notes].join("\n");
        })
        .join("\n");
}
