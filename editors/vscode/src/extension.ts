// The extension's beginning and end: it starts the language server and offers the commands.

import * as vscode from "vscode";
import { Answers } from "./answers";
import { byProgram } from "./byProgram";
import { Missing, howToInstall } from "./missing";
import { newSpec } from "./newSpec";
import { Preview } from "./preview";
import { QUESTIONS, ask, explain } from "./questions";
import { Server } from "./server";
import { openSheet, saveSheet } from "./sheet";

let server: Server | undefined;

export async function activate(context: vscode.ExtensionContext): Promise<void> {
    const missing = new Missing();
    const running = (server = new Server(missing));
    const preview = new Preview(context.extensionUri, server);
    const answers = new Answers();
    const restart = () => server?.restart();
    const command = vscode.commands.registerCommand;
    context.subscriptions.push(
        missing,
        preview,
        answers,
        ...Object.entries(QUESTIONS).map(([name, question]) =>
            command(name, () => ask(question, running, answers, byProgram)),
        ),
        command("bitepoint.explain", (what?: unknown) => explain(what, answers, byProgram)),
        command("bitepoint.newSpec", newSpec),
        command("bitepoint.openSheet", () => server && openSheet(server)),
        // The line above a system names the system; the palette and the button do not.
        command("bitepoint.showPreview", (_?: unknown, system?: unknown) =>
            preview.show(typeof system === "string" ? system : undefined),
        ),
        command("bitepoint.saveSheet", () => server && saveSheet(server)),
        command("bitepoint.restart", restart),
        command("bitepoint.howToInstall", howToInstall),
        vscode.workspace.onDidChangeConfiguration((change) => {
            const started = ["bitepoint.path", "bitepoint.arguments", "bitepoint.libraries"];
            if (started.some((setting) => change.affectsConfiguration(setting))) {
                return restart();
            }
        }),
        vscode.workspace.onDidGrantWorkspaceTrust(restart),
    );
    await server.start();
}

export async function deactivate(): Promise<void> {
    await server?.stop();
}
