// What the parts of the extension ask the server by, wherever it runs.

import type * as vscode from "vscode";
import type { BaseLanguageClient } from "vscode-languageclient";

export interface Server {
    /** A document was worked out anew, and what is shown of it may be old. */
    readonly onWorked: vscode.Event<vscode.Uri>;

    /** The client, while the server can be asked. */
    running(): BaseLanguageClient | undefined;

    asClient(uri: vscode.Uri): { uri: string };
}
