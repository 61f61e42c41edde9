// The program answers what is asked, from the files on the disk.

import * as vscode from "vscode";
import type { Oracle } from "./questions";
import { run } from "./run";

export const byProgram: Oracle = {
    /** The spec, saved: the program reads what is on the disk. */
    async prepare(spec) {
        const { document } = spec;
        if ((document.isDirty || document.isUntitled) && !(await document.save())) {
            void vscode.window.showWarningMessage("Save the spec first: the program reads the file.");
            return undefined;
        }
        // Saving an untitled document gives a new one, with a new address.
        return vscode.window.activeTextEditor ?? spec;
    },

    answer(question, document, system) {
        const args = [question.verb, document.uri.fsPath, ...(system ? [system] : []), ...question.more];
        return run(args, document.uri);
    },

    async explain(what) {
        // What begins with a hyphen would be an option.
        return what.startsWith("-") ? undefined : run(["explain", what]);
    },
};
