// A new spec to start with, in the units that its author measures in.

import * as vscode from "vscode";
import { run } from "./run";

/** Asks for the way of actuation and for the units, and opens a commented spec that is not saved yet. */
export async function newSpec(): Promise<void> {
    const list = await run(["new", "--list"]);
    if (list === undefined) {
        return;
    }
    const ways = [...list.text.matchAll(/^ *(\S+) +(\S.*)$/gm)].map(([, label = "", detail = ""]) => ({
        label,
        detail,
    }));
    const way = await vscode.window.showQuickPick(ways, { title: "How is the clutch worked?" });
    if (way === undefined) {
        return;
    }
    const units = await vscode.window.showQuickPick(
        [
            { label: "Millimeters", value: "mm" },
            { label: "Inches", value: "in" },
        ],
        { title: "What do you measure in?" },
    );
    if (units === undefined) {
        return;
    }
    const said = await run(["new", way.label, "--units", units.value]);
    if (said === undefined) {
        return;
    }
    if (said.text === "") {
        void vscode.window.showWarningMessage(said.complaint);
        return;
    }
    const document = await vscode.workspace.openTextDocument({ language: "clutch", content: said.text });
    await vscode.window.showTextDocument(document);
}
