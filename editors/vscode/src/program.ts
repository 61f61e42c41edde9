// Where the bitepoint program is.

import { access, constants, stat } from "node:fs/promises";
import { homedir } from "node:os";
import { delimiter, isAbsolute, join } from "node:path";
import * as vscode from "vscode";

/** The program to run, or `undefined` where there is none. */
export async function findProgram(): Promise<string | undefined> {
    const setting = vscode.workspace.getConfiguration("bitepoint").get("path", "").trim();
    const places = setting === "" ? usualPlaces() : [expanded(setting)];
    for (const place of places) {
        if (await isProgram(place)) {
            return place;
        }
    }
    return undefined;
}

/** A setting that begins with `~` is meant from the home folder, one that is not absolute from
 * the folder that is open. */
export function expanded(path: string): string {
    if (/^~[/\\]/.test(path)) {
        return join(homedir(), path.slice(2));
    }
    const folder = vscode.workspace.workspaceFolders?.[0]?.uri.fsPath;
    return isAbsolute(path) || folder === undefined ? path : join(folder, path);
}

/** An editor that was started from a menu often has a `PATH` without cargo's folder. */
function usualPlaces(): string[] {
    const name = process.platform === "win32" ? "bitepoint.exe" : "bitepoint";
    const cargo = process.env["CARGO_HOME"] ?? join(homedir(), ".cargo");
    const folders = (process.env["PATH"] ?? "").split(delimiter).filter((path) => path !== "");
    return [...folders, join(cargo, "bin")].map((folder) => join(folder, name));
}

async function isProgram(path: string): Promise<boolean> {
    try {
        await access(path, constants.X_OK);
        return (await stat(path)).isFile();
    } catch {
        return false;
    }
}
