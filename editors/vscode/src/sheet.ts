// The fitting sheet, saved as a page of its own.

import * as vscode from "vscode";
import { sheet } from "./protocol";
import type { Server } from "./server";

/** Asks where to save the fitting sheet of the spec in front, and saves it there. */
export async function saveSheet(server: Server): Promise<void> {
    const document = vscode.window.activeTextEditor?.document;
    const client = server.running();
    if (document?.languageId !== "clutch" || client === undefined) {
        void vscode.window.showWarningMessage(
            "Open a spec first; its fitting sheet needs the bitepoint program running.",
        );
        return;
    }
    const answer = await client.sendRequest(sheet, { textDocument: server.asClient(document.uri) });
    const html = answer?.html;
    if (html == null) {
        void vscode.window.showWarningMessage("There is no system here to make a sheet of.");
        return;
    }
    const place = await vscode.window.showSaveDialog({
        title: "Save the fitting sheet",
        defaultUri: beside(document.uri),
        filters: { "Web page": ["html"] },
    });
    if (place === undefined) {
        return;
    }
    await vscode.workspace.fs.writeFile(place, new TextEncoder().encode(html));
    const open = "Open It";
    if ((await vscode.window.showInformationMessage("The fitting sheet is saved.", open)) === open) {
        await vscode.env.openExternal(place);
    }
}

function beside(spec: vscode.Uri): vscode.Uri | undefined {
    return spec.scheme === "file"
        ? spec.with({ path: spec.path.replace(/(\.clutch)?$/, ".html") })
        : undefined;
}
