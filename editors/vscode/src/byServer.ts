// The server answers what is asked, of the documents as they stand: in a browser there is no program.

import * as vscode from "vscode";
import type { Server } from "./client";
import { explanation, verb, type Said, type VerbParams } from "./protocol";
import type { Oracle, Question } from "./questions";

/** What a document was before it was edited is compared with what it is now. */
export const WITH_SAVED: Question = {
    verb: "compare",
    more: [],
    ofSystem: false,
    title: "Since it was saved",
    extension: "md",
};

export class ByServer implements Oracle {
    constructor(private readonly server: Server) {}

    async prepare(spec: vscode.TextEditor): Promise<vscode.TextEditor> {
        return spec;
    }

    async answer(question: Question, document: vscode.TextDocument, system?: string): Promise<Said | undefined> {
        const textDocument = this.server.asClient(document.uri);
        const params: VerbParams = { textDocument, verb: question.verb, system };
        if (question === WITH_SAVED) {
            if (document.isUntitled) {
                return { text: "", complaint: "This spec was never saved." };
            }
            const bytes = await vscode.workspace.fs.readFile(document.uri);
            params.before = new TextDecoder().decode(bytes);
        }
        return this.asked(async (client) => (await client.sendRequest(verb, params)) ?? undefined);
    }

    explain(what: string): Promise<Said | undefined> {
        return this.asked((client) => client.sendRequest(explanation, { what }));
    }

    private async asked(
        question: (client: NonNullable<ReturnType<Server["running"]>>) => Promise<Said | undefined>,
    ): Promise<Said | undefined> {
        const client = this.server.running();
        if (client === undefined) {
            return { text: "", complaint: "Bitepoint is not ready yet." };
        }
        const location = vscode.ProgressLocation.Window;
        return vscode.window.withProgress({ location, title: "Bitepoint" }, () =>
            question(client).catch((error: unknown) => ({ text: "", complaint: String(error) })),
        );
    }
}
