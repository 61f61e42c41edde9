// Answers of the program as documents that cannot be edited, beside the spec.

import * as vscode from "vscode";

export const SCHEME = "bitepoint-answer";

/** Keeps the last answer of each name, for as long as the window is open. */
export class Answers implements vscode.TextDocumentContentProvider, vscode.Disposable {
    private readonly texts = new Map<string, string>();
    private readonly changed = new vscode.EventEmitter<vscode.Uri>();
    private readonly registration = vscode.workspace.registerTextDocumentContentProvider(SCHEME, this);

    readonly onDidChange = this.changed.event;

    provideTextDocumentContent(uri: vscode.Uri): string {
        return this.texts.get(uri.path) ?? "";
    }

    /** Shows a text under a name; Markdown as it reads, anything else as it is. */
    async show(name: string, text: string): Promise<void> {
        const uri = vscode.Uri.from({ scheme: SCHEME, path: `/${name}` });
        this.texts.set(uri.path, text);
        this.changed.fire(uri);
        if (name.endsWith(".md")) {
            await vscode.commands.executeCommand("markdown.showPreviewToSide", uri);
            return;
        }
        const document = await vscode.workspace.openTextDocument(uri);
        await vscode.window.showTextDocument(document, {
            viewColumn: vscode.ViewColumn.Beside,
            preserveFocus: true,
            preview: true,
        });
    }

    dispose(): void {
        this.registration.dispose();
        this.changed.dispose();
    }
}
