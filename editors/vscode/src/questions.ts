// The commands that ask the program: of the spec in front sizes, the last commit, what to order and what
// is wrong with a car; and what a word means.

import * as vscode from "vscode";
import type { Answers } from "./answers";
import { curve } from "./protocol";
import { run } from "./run";
import type { Server } from "./server";

/** One verb of the program, and how its answer is shown. */
interface Question {
    /** The arguments behind the file and the system. */
    verb: string;
    more: string[];
    /** Whether it is about the system that the cursor stands in, or about the whole file. */
    ofSystem: boolean;
    /** What the answer is called. */
    title: string;
    extension: "md" | "txt";
}

const QUESTIONS: Record<string, Question> = {
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
};

/** Registers a command for each question. */
export function questions(server: Server, answers: Answers): vscode.Disposable[] {
    const command = vscode.commands.registerCommand;
    return [
        ...Object.entries(QUESTIONS).map(([name, question]) =>
            command(name, () => answer(question, server, answers)),
        ),
        // A finding names its check; from the palette it is asked for.
        command("bitepoint.explain", (what?: unknown) => explain(what, answers)),
    ];
}

async function explain(what: unknown, answers: Answers): Promise<void> {
    const prompt = "A check, a block, a field (slave.bore), a result, or a word of the trade";
    const wanted = typeof what === "string" ? what : await vscode.window.showInputBox({ prompt });
    // What begins with a hyphen would be an option.
    const said = wanted && !wanted.startsWith("-") ? await run(["explain", wanted]) : undefined;
    if (said === undefined) {
        return;
    }
    if (said.text.trim() === "") {
        void vscode.window.showWarningMessage(said.complaint || "There is nothing to say.");
        return;
    }
    await answers.show(`${wanted}.txt`, said.text);
}

async function answer(question: Question, server: Server, answers: Answers): Promise<void> {
    const spec = await specInFront();
    if (spec === undefined) {
        return;
    }
    const { document } = spec;
    const system = question.ofSystem ? await systemAt(server, spec) : undefined;
    const args = [question.verb, document.uri.fsPath, ...(system ? [system] : []), ...question.more];
    const said = await run(args, document.uri);
    if (said === undefined) {
        return;
    }
    if (said.text.trim() === "") {
        void vscode.window.showWarningMessage(said.complaint || "There is nothing to say.");
        return;
    }
    const of = system ?? document.uri.path.split("/").pop();
    await answers.show(`${question.title}: ${of}.${question.extension}`, said.text);
    if (said.complaint !== "") {
        void vscode.window.showWarningMessage(said.complaint);
    }
}

/** The spec in front, saved: the program reads what is on the disk. */
async function specInFront(): Promise<vscode.TextEditor | undefined> {
    const editor = vscode.window.activeTextEditor;
    if (editor?.document.languageId !== "clutch") {
        void vscode.window.showWarningMessage("Open a spec first.");
        return undefined;
    }
    if ((editor.document.isDirty || editor.document.isUntitled) && !(await editor.document.save())) {
        void vscode.window.showWarningMessage("Save the spec first: the program reads the file.");
        return undefined;
    }
    // Saving an untitled document gives a new one, with a new address.
    return vscode.window.activeTextEditor ?? editor;
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
