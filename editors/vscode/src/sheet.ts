// The fitting sheet, beside the spec or saved as a page of its own.

import * as vscode from "vscode";
import { sheet } from "./protocol";
import type { Server } from "./client";

/** Shows the fitting sheet of the spec in front. Its page runs no script and fetches nothing. */
export async function openSheet(server: Server): Promise<void> {
    const found = await sheetInFront(server);
    if (found === undefined) {
        return;
    }
    const panel = vscode.window.createWebviewPanel(
        "bitepoint.sheet",
        "Fitting Sheet",
        { viewColumn: vscode.ViewColumn.Beside, preserveFocus: true },
        { enableScripts: false, localResourceRoots: [] },
    );
    panel.webview.html = found.html;
}

/** Asks where to save the fitting sheet of the spec in front, and saves it there. */
export async function saveSheet(server: Server): Promise<void> {
    const found = await sheetInFront(server);
    if (found === undefined) {
        return;
    }
    const place = await vscode.window.showSaveDialog({
        title: "Save the fitting sheet",
        defaultUri: beside(found.document.uri),
        filters: { "Web page": ["html"] },
    });
    if (place === undefined) {
        return;
    }
    await vscode.workspace.fs.writeFile(place, new TextEncoder().encode(found.html));
    const open = "Open It";
    if ((await vscode.window.showInformationMessage("The fitting sheet is saved.", open)) === open) {
        await vscode.env.openExternal(place);
    }
}

interface Found {
    document: vscode.TextDocument;
    html: string;
}

/** The sheet of the spec in front, or `undefined` where there is none, which is then said. */
async function sheetInFront(server: Server): Promise<Found | undefined> {
    const document = vscode.window.activeTextEditor?.document;
    const client = server.running();
    if (document?.languageId !== "clutch" || client === undefined) {
        void vscode.window.showWarningMessage(
            "Open a spec first; its fitting sheet needs the bitepoint program running.",
        );
        return undefined;
    }
    const answer = await client.sendRequest(sheet, { textDocument: server.asClient(document.uri) });
    if (answer?.html == null) {
        void vscode.window.showWarningMessage("There is no system here to make a sheet of.");
        return undefined;
    }
    return { document, html: answer.html };
}

function beside(spec: vscode.Uri): vscode.Uri | undefined {
    return spec.scheme === "file"
        ? spec.with({ path: spec.path.replace(/(\.clutch)?$/, ".html") })
        : undefined;
}
