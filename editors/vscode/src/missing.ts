// What is shown while there is no program to run.

import * as vscode from "vscode";

/** An entry in the status bar that says that the program is missing, and leads to a cure. */
export class Missing implements vscode.Disposable {
    private readonly item = vscode.window.createStatusBarItem(
        "bitepoint.missing",
        vscode.StatusBarAlignment.Right,
    );
    private told = false;

    constructor() {
        this.item.name = "Bitepoint";
        this.item.command = "bitepoint.howToInstall";
        this.item.backgroundColor = new vscode.ThemeColor("statusBarItem.warningBackground");
    }

    /** Says so in the status bar each time, and in a message the first time. */
    show(what: string): void {
        this.item.text = "$(warning) Bitepoint does not run";
        this.item.tooltip = what;
        this.item.show();
        if (!this.told) {
            this.told = true;
            void howToInstall();
        }
    }

    hide(): void {
        this.item.hide();
    }

    dispose(): void {
        this.item.dispose();
    }
}

/** Says how to get the program, and lets it be pointed at. */
export async function howToInstall(): Promise<void> {
    const choose = "Choose the Program…";
    const again = "Try Again";
    const answer = await vscode.window.showWarningMessage(
        "Bitepoint's findings, values and curves come from the bitepoint program. Install it " +
            "from a copy of the project with “cargo install --path .”, or choose where it is.",
        choose,
        again,
    );
    if (answer === choose) {
        await choosePlace();
    } else if (answer === again) {
        await vscode.commands.executeCommand("bitepoint.restart");
    }
}

async function choosePlace(): Promise<void> {
    const chosen = await vscode.window.showOpenDialog({
        title: "The bitepoint program",
        openLabel: "Use This Program",
    });
    const program = chosen?.[0];
    if (program !== undefined) {
        await vscode.workspace
            .getConfiguration("bitepoint")
            .update("path", program.fsPath, vscode.ConfigurationTarget.Global);
    }
}
