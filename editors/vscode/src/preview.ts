// The curves beside the text. They are drawn by the server; this shows them and asks for new
// ones when the text or the system that the cursor stands in has changed.

import * as vscode from "vscode";
import type { Range } from "vscode-languageclient";
import { curve, type Curve } from "./protocol";
import type { Server } from "./client";

/** What the page is told. */
export type ToPage = { curve: Curve; values: boolean } | { nothing: string };

/** What the page tells: that it is there, or that a place in the document is wanted. */
export type FromPage = "ready" | { goTo: Range };

export class Preview implements vscode.Disposable {
    private panel: vscode.WebviewPanel | undefined;
    private document: vscode.TextDocument | undefined;
    private position = new vscode.Position(0, 0);
    /** The system that is shown, for a preview that does not follow the cursor. */
    private system: string | undefined;
    /** The system that was asked for by its name. */
    private named: string | undefined;
    private asking = false;
    private stale = false;
    private readonly subscriptions: vscode.Disposable[];

    constructor(
        private readonly extension: vscode.Uri,
        private readonly server: Server,
    ) {
        this.subscriptions = [
            server.onWorked((uri) => {
                if (uri.toString() === this.document?.uri.toString()) {
                    this.redraw();
                }
            }),
            vscode.window.onDidChangeActiveTextEditor((editor) => this.look(editor)),
            vscode.window.onDidChangeTextEditorSelection((change) => this.look(change.textEditor)),
            vscode.workspace.onDidChangeConfiguration((change) => {
                if (change.affectsConfiguration("bitepoint.preview")) {
                    this.redraw();
                }
            }),
        ];
    }

    /** Opens the preview beside the spec in front, or brings it forth; of one system where it is
     * named, until the cursor moves. */
    show(system?: string): void {
        if (this.panel === undefined) {
            this.panel = this.open();
        } else {
            this.panel.reveal(undefined, true);
        }
        this.look(vscode.window.activeTextEditor);
        this.named = system;
        this.system = system ?? this.system;
    }

    dispose(): void {
        this.panel?.dispose();
        vscode.Disposable.from(...this.subscriptions).dispose();
    }

    private open(): vscode.WebviewPanel {
        const scripts = vscode.Uri.joinPath(this.extension, "dist");
        const panel = vscode.window.createWebviewPanel(
            "bitepoint.preview",
            "Curves",
            { viewColumn: vscode.ViewColumn.Beside, preserveFocus: true },
            { enableScripts: true, localResourceRoots: [scripts] },
        );
        panel.onDidDispose(() => {
            this.panel = undefined;
        });
        // The page says so when it is there, also after it was hidden for a while.
        panel.webview.onDidReceiveMessage((told: FromPage) =>
            told === "ready" ? this.redraw() : void this.goTo(told.goTo),
        );
        panel.webview.html = page(panel.webview, vscode.Uri.joinPath(scripts, "page.js"));
        return panel;
    }

    /** Puts the cursor at a place of the document that is shown. */
    private async goTo(range: Range): Promise<void> {
        const selection = this.server.running()?.protocol2CodeConverter.asRange(range);
        if (this.document !== undefined && selection !== undefined) {
            const viewColumn = vscode.ViewColumn.One;
            await vscode.window.showTextDocument(this.document, { viewColumn, selection });
        }
    }

    private look(editor: vscode.TextEditor | undefined): void {
        if (this.panel === undefined || editor?.document.languageId !== "clutch") {
            return;
        }
        if (editor.document !== this.document) {
            this.system = undefined;
        }
        this.document = editor.document;
        this.named = undefined;
        this.position = editor.selection.active;
        this.redraw();
    }

    /** One question at a time; what came up meanwhile is one more. */
    private redraw(): void {
        this.stale = true;
        if (!this.asking) {
            void this.ask();
        }
    }

    private async ask(): Promise<void> {
        this.asking = true;
        while (this.stale && this.panel !== undefined) {
            this.stale = false;
            const message = await this.answer();
            if ("curve" in message) {
                this.system = message.curve.system ?? undefined;
                this.panel.title = this.system === undefined ? "Curves" : `Curves: ${this.system}`;
            }
            await this.panel?.webview.postMessage(message);
        }
        this.asking = false;
    }

    private async answer(): Promise<ToPage> {
        const client = this.server.running();
        if (client === undefined) {
            return { nothing: "The bitepoint program is not running." };
        }
        if (this.document === undefined) {
            return { nothing: "Open a spec to see its curves." };
        }
        const settings = vscode.workspace.getConfiguration("bitepoint.preview", this.document);
        const kept = settings.get("followCursor", true) ? this.named : this.system;
        const which = kept !== undefined
            ? { system: kept }
            : { position: client.code2ProtocolConverter.asPosition(this.position) };
        try {
            const found = await client.sendRequest(curve, {
                textDocument: this.server.asClient(this.document.uri),
                ...which,
            });
            return found === null
                ? { nothing: "There is no system here to draw." }
                : { curve: found, values: settings.get("values", true) };
        } catch (error) {
            return { nothing: `The curves could not be had: ${String(error)}` };
        }
    }
}

/** The page. Nothing in it runs but the extension's own script, and it reaches nothing outside. */
function page(webview: vscode.Webview, script: vscode.Uri): string {
    const nonce = btoa(String.fromCharCode(...crypto.getRandomValues(new Uint8Array(16))));
    const policy = [
        "default-src 'none'",
        `script-src 'nonce-${nonce}'`,
        // The drawing brings its styles with it.
        "style-src 'unsafe-inline'",
    ].join("; ");
    return `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<title>Curves</title>
<style>
body { padding: 0.5em 1em; }
h1 { font-size: 1.15em; font-weight: 600; margin: 0.4em 0; }
#verdict { font-size: 1.15em; font-weight: 600; margin: 0.2em 0; }
#verdict[data-standing="error"] { color: var(--vscode-editorError-foreground); }
#verdict[data-standing="warning"] { color: var(--vscode-editorWarning-foreground); }
#drawing svg { display: block; width: 100%; height: auto; max-height: 75vh; }
#why { color: var(--vscode-descriptionForeground); white-space: pre-wrap; }
#why:not(:empty) { border-left: 3px solid var(--vscode-editorWarning-foreground); padding-left: 0.7em; }
#findings { list-style: none; padding: 0; margin: 0.4em 0; }
#findings li { margin: 0.3em 0; padding-left: 0.7em; border-left: 3px solid var(--vscode-editorInfo-foreground); }
#findings li[data-severity="error"] { border-color: var(--vscode-editorError-foreground); }
#findings li[data-severity="warning"] { border-color: var(--vscode-editorWarning-foreground); }
#findings .check { background: none; border: 0; padding: 0; font: inherit; color: var(--vscode-descriptionForeground); }
#findings button.check { color: var(--vscode-textLink-foreground); cursor: pointer; text-decoration: underline; }
#values { font-variant-numeric: tabular-nums; }
#values input { width: 100%; accent-color: var(--vscode-button-background); }
#values table { border-collapse: collapse; }
#values td { padding: 0.1em 0.8em 0.1em 0; }
#values td:nth-child(2) { text-align: right; }
</style>
</head>
<body>
<p id="verdict" role="status"></p>
<h1 id="title"></h1>
<p id="why" role="status"></p>
<ul id="findings"></ul>
<div id="drawing"></div>
<div id="values" hidden>
<label for="place" id="placed"></label>
<input id="place" type="range" min="0" step="1">
<table><tbody id="row"></tbody></table>
</div>
<script nonce="${nonce}" src="${webview.asWebviewUri(script)}"></script>
</body>
</html>`;
}
