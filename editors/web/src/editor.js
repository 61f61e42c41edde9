// The editor: CodeMirror, with what the core knows of the text.

import { autocompletion, completionKeymap, snippet } from "@codemirror/autocomplete";
import { defaultKeymap, history, historyKeymap, indentLess, indentMore } from "@codemirror/commands";
import { lintGutter, lintKeymap, setDiagnostics } from "@codemirror/lint";
import { highlightSelectionMatches, searchKeymap } from "@codemirror/search";
import { EditorState, StateEffect, StateField } from "@codemirror/state";
import {
    Decoration, EditorView, drawSelection, highlightActiveLine, hoverTooltip, keymap, lineNumbers,
} from "@codemirror/view";
import { markdown } from "./dom.js";

const SEVERITIES = { error: "error", warning: "warning", info: "info", hint: "hint" };

// A place of the core as an offset of the document, and back.
export function offsetOf(doc, { line, character }) {
    if (line >= doc.lines) return doc.length;
    const { from, to } = doc.line(line + 1);
    return Math.min(from + character, to);
}

function placeOf(doc, offset) {
    const line = doc.lineAt(offset);
    return { line: line.number - 1, character: offset - line.from };
}

const setColours = StateEffect.define();

const colours = StateField.define({
    create: () => Decoration.none,
    update(marks, transaction) {
        for (const effect of transaction.effects) if (effect.is(setColours)) return effect.value;
        return marks.map(transaction.changes);
    },
    provide: (field) => EditorView.decorations.from(field),
});

export function changesOf(doc, edits) {
    return edits.map(({ range, text }) => ({
        from: offsetOf(doc, range.start),
        to: offsetOf(doc, range.end),
        insert: text,
    }));
}

// A snippet of the Language Server Protocol as one of CodeMirror.
function template(text) {
    return text
        .replace(/\$\{(\d+)(?::([^}]*))?\}/g, (_, number, name) => `\${${number === "0" ? "" : `${number}:${name ?? ""}`}}`)
        .replace(/\$(\d)/g, (_, number) => `\${${number === "0" ? "" : number}}`)
        .replace(/\\([$}\\])/g, "$1");
}

export function makeEditor({ parent, ask, file, changed }) {
    async function hover(view, offset) {
        const at = placeOf(view.state.doc, offset);
        const found = await ask({ verb: "hover", file: file(), at });
        if (found === null) return null;
        const { doc } = view.state;
        return {
            pos: offsetOf(doc, found.range.start),
            end: offsetOf(doc, found.range.end),
            above: true,
            create: () => ({ dom: markdown(found.markdown) }),
        };
    }

    async function complete(context) {
        const word = context.matchBefore(/[\p{L}\d_"-]*/u);
        if (!context.explicit && (word === null || word.from === word.to)) return null;
        const at = placeOf(context.state.doc, context.pos);
        const found = await ask({ verb: "completions", file: file(), at });
        if (context.aborted || found.length === 0) return null;
        const from = offsetOf(context.state.doc, found[0].range.start);
        return {
            from,
            filter: true,
            validFor: /^[\p{L}\d_-]*$/u,
            options: found.map((one) => ({
                label: one.label,
                detail: one.detail,
                type: one.kind,
                info: () => markdown(one.doc),
                apply: one.snippet === null && one.edits.length === 0 ? one.insert : (view, _, from, to) => {
                    if (one.edits.length > 0) {
                        const changes = view.state.changes(changesOf(view.state.doc, one.edits));
                        view.dispatch({ changes });
                        [from, to] = [changes.mapPos(from), changes.mapPos(to)];
                    }
                    snippet(template(one.snippet ?? one.insert))(view, null, from, to);
                },
            })),
        };
    }

    const extensions = [
        lineNumbers(),
        history(),
        drawSelection(),
        highlightActiveLine(),
        highlightSelectionMatches(),
        EditorState.tabSize.of(4),
        colours,
        lintGutter(),
        autocompletion({ override: [complete] }),
        hoverTooltip(hover),
        // Tab leaves the editor, so that nobody is caught in it.
        keymap.of([
            { key: "Mod-]", run: indentMore },
            { key: "Mod-[", run: indentLess },
            ...completionKeymap,
            ...lintKeymap,
            ...searchKeymap,
            ...historyKeymap,
            ...defaultKeymap,
        ]),
        EditorView.contentAttributes.of({ "aria-label": "The spec", spellcheck: "false" }),
        EditorView.updateListener.of((update) => update.docChanged && changed(update.state.doc.toString())),
        EditorView.lineWrapping,
    ];
    const view = new EditorView({ parent, state: EditorState.create({ extensions }) });

    return {
        view,
        setText(text) {
            view.setState(EditorState.create({ doc: text, extensions }));
        },
        colour(words) {
            const { doc } = view.state;
            const marks = words
                .map(({ range, role }) => [offsetOf(doc, range.start), offsetOf(doc, range.end), role])
                .filter(([from, to]) => from < to)
                .map(([from, to, role]) => Decoration.mark({ class: `role-${role}` }).range(from, to));
            view.dispatch({ effects: setColours.of(Decoration.set(marks, true)) });
        },
        mark(findings, apply) {
            const { doc } = view.state;
            const diagnostics = findings.map((finding) => ({
                from: offsetOf(doc, finding.range.start),
                to: offsetOf(doc, finding.range.end),
                severity: SEVERITIES[finding.severity] ?? "info",
                message: finding.help === null ? finding.message : `${finding.message}\n${finding.help}`,
                actions: finding.fixes.slice(0, 3).map((fix) => ({ name: fix.title, apply: () => apply(fix) })),
            }));
            view.dispatch(setDiagnostics(view.state, diagnostics));
        },
        change(edits) {
            view.dispatch({ changes: changesOf(view.state.doc, edits) });
            view.focus();
        },
        goTo(range) {
            const { doc } = view.state;
            const [anchor, head] = [offsetOf(doc, range.start), offsetOf(doc, range.end)];
            view.dispatch({ selection: { anchor, head }, scrollIntoView: true });
            view.focus();
        },
    };
}
