// Runs the bitepoint program for one answer.

import { execFile } from "node:child_process";
import { dirname } from "node:path";
import * as vscode from "vscode";
import { findProgram } from "./program";
import type { Said } from "./protocol";

/** The most that an answer may hold, in bytes. */
const MOST = 32 * 1024 * 1024;

/** Runs the program in the folder of a file, or in the first folder that is open. `undefined` where
 * there is no program, which is then said. */
export async function run(args: string[], beside?: vscode.Uri): Promise<Said | undefined> {
    const program = await findProgram();
    if (program === undefined) {
        await vscode.commands.executeCommand("bitepoint.howToInstall");
        return undefined;
    }
    const folder = vscode.workspace.workspaceFolders?.[0]?.uri.fsPath;
    const cwd = beside?.scheme === "file" ? dirname(beside.fsPath) : folder;
    return vscode.window.withProgress(
        { location: vscode.ProgressLocation.Window, title: `bitepoint ${args[0]}` },
        () =>
            new Promise<Said>((resolve) => {
                const env = { ...process.env, NO_COLOR: "1" };
                execFile(program, args, { cwd, env, maxBuffer: MOST }, (error, stdout, stderr) => {
                    // A status of 1 says that something was found, which the answer shows.
                    const failed = error !== null && stdout === "" && stderr === "";
                    resolve({ text: stdout, complaint: failed ? error.message : stderr.trim() });
                });
            }),
    );
}
