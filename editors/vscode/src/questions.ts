// The commands that ask what the program knows: of the spec in front sizes, what it was before, what to
// order and what is wrong with a car; and what a word means.

import * as vscode from "vscode";
import type { Answers } from "./answers";
import type { Server } from "./client";
import { curve, type Said } from "./protocol";

/** One verb of the program, and how its answer is shown. */
export interface Question {
    /** The arguments behind the file and the system. */
    verb: string;
    more: string[];
    /** Whether it is about the system that the cursor stands in, or about the whole file. */
    ofSystem: boolean;
    /** What the answer is called. */
    title: string;
    extension: "md" | "txt";
}

export const QUESTIONS = {
    "bitepoint.findSizes": {
        verb: "size",
        more: [],
        ofSystem: true,
        title: "Sizes",
        extension: "txt",
    },
    "bitepoint.compareWithCommit": {
        verb: "compare",
        more: ["--from", "HEAD", "--format", "markdown"],
        ofSystem: false,
        title: "Since the last commit",
        extension: "md",
    },
    "bitepoint.billOfMaterials": {
        verb: "bom",
        more: ["--format", "md"],
        ofSystem: true,
        title: "Bill of materials",
        extension: "md",
    },
    "bitepoint.findFault": {
        verb: "diagnose",
        more: ["--format", "md"],
        ofSystem: true,
        title: "What is wrong",
        extension: "md",
    },
} satisfies Record<string, Question>;

/** What answers: the program, or the server where no program can be run. */
export interface Oracle {
    /** The spec in front as it can be asked about; `undefined` where it cannot be, which is then said. */
    prepare(spec: vscode.TextEditor): Promise<vscode.TextEditor | undefined>;

    /** `undefined` where nothing can be asked, which is then said. */
    answer(question: Question, document: vscode.TextDocument, system?: string): Promise<Said | undefined>;

    explain(what: string): Promise<Said | undefined>;
}

/** Asks about the spec in front, and shows the answer beside it. */
export async function ask(
    question: Question,
    server: Server,
    answers: Answers,
    oracle: Oracle,
): Promise<void> {
    const editor = vscode.window.activeTextEditor;
    if (editor?.document.languageId !== "clutch") {
        void vscode.window.showWarningMessage("Open a spec first.");
        return;
    }
    const spec = await oracle.prepare(editor);
    if (spec === undefined) {
        return;
    }
    const { document } = spec;
    const system = question.ofSystem ? await systemAt(server, spec) : undefined;
    const said = await oracle.answer(question, document, system);
    const of = system ?? document.uri.path.split("/").pop();
    await show(`${question.title}: ${of}.${question.extension}`, said, answers);
}

/** Explains a word; from the palette it is asked for, where a finding names its check. */
export async function explain(what: unknown, answers: Answers, oracle: Oracle): Promise<void> {
    const prompt = "A check, a block, a field (slave.bore), a result, or a word of the trade";
    const wanted = typeof what === "string" ? what : await vscode.window.showInputBox({ prompt });
    if (wanted) {
        await show(`${wanted}.txt`, await oracle.explain(wanted), answers);
    }
}

async function show(name: string, said: Said | undefined, answers: Answers): Promise<void> {
    if (said === undefined) {
        return;
    }
    if (said.text.trim() === "") {
        void vscode.window.showWarningMessage(said.complaint || "There is nothing to say.");
        return;
    }
    await answers.show(name, said.text);
    if (said.complaint !== "") {
        void vscode.window.showWarningMessage(said.complaint);
    }
}

/** The system that the cursor stands in, or else the first. */
async function systemAt(server: Server, spec: vscode.TextEditor): Promise<string | undefined> {
    const client = server.running();
    const found = await client
        ?.sendRequest(curve, {
            textDocument: server.asClient(spec.document.uri),
            position: client.code2ProtocolConverter.asPosition(spec.selection.active),
        })
        .catch(() => null);
    return found?.system ?? undefined;
}
