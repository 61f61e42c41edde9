// The extension in a browser, where no program can be run: the server is a module of WebAssembly in a
// worker, and is given the files that it may read.

import * as vscode from "vscode";
import { LanguageClient, State } from "vscode-languageclient/browser";
import { Answers } from "./answers";
import { ByServer, WITH_SAVED } from "./byServer";
import type { Server } from "./client";
import { Preview } from "./preview";
import { worked } from "./protocol";
import { QUESTIONS, ask, explain } from "./questions";
import { FILES, type GivenFile } from "./session";
import { openSheet, saveSheet } from "./sheet";

/** What a spec may read. */
const AROUND = "**/{*.clutch,bitepoint.toml}";

/** What cannot be done without a program on the machine. */
const OF_PROGRAM = [
    "bitepoint.compareWithCommit",
    "bitepoint.newSpec",
    "bitepoint.restart",
    "bitepoint.howToInstall",
];

/** More files than these are not read. */
const MOST = 2000;

class WorkerServer implements Server {
    private readonly workedOut = new vscode.EventEmitter<vscode.Uri>();
    readonly onWorked = this.workedOut.event;

    constructor(readonly client: LanguageClient) {
        client.onNotification(worked, ({ uri }) => {
            this.workedOut.fire(client.protocol2CodeConverter.asUri(uri));
        });
    }

    running(): LanguageClient | undefined {
        return this.client.state === State.Running ? this.client : undefined;
    }

    asClient(uri: vscode.Uri): { uri: string } {
        return { uri: this.client.code2ProtocolConverter.asUri(uri) };
    }

    /** Gives files to the server; one that cannot be read is gone. */
    async give(uris: vscode.Uri[]): Promise<void> {
        const read = async (uri: vscode.Uri): Promise<GivenFile> => {
            const address = this.asClient(uri).uri;
            try {
                const bytes = await vscode.workspace.fs.readFile(uri);
                return { uri: address, text: new TextDecoder().decode(bytes) };
            } catch {
                return { uri: address };
            }
        };
        const files = await Promise.all(uris.map(read));
        await this.client.sendNotification(FILES, { files });
    }
}

let server: WorkerServer | undefined;

/** A worker that runs a script of the extension, wherever that was installed: from a server, an address will not do. */
async function workerOf(script: vscode.Uri): Promise<Worker> {
    const text = await vscode.workspace.fs.readFile(script);
    const blob = new Blob([new Uint8Array(text)], { type: "text/javascript" });
    return new Worker(URL.createObjectURL(blob));
}

function ofProgram(): void {
    void vscode.window.showInformationMessage(
        "This needs the bitepoint program, which cannot run in a browser. Everything else works here as it is.",
    );
}

export async function activate(context: vscode.ExtensionContext): Promise<void> {
    // Whatever the window is: the commands of the program are hidden.
    await vscode.commands.executeCommand("setContext", "bitepoint.inBrowser", true);
    const at = (name: string) => vscode.Uri.joinPath(context.extensionUri, "dist", name);
    const worker = await workerOf(at("worker.js"));
    const client = new LanguageClient("bitepoint", "Bitepoint", worker, {
        documentSelector: [{ language: "clutch" }, { pattern: "**/bitepoint.toml" }],
        // What the server links to may run this one command.
        markdown: { isTrusted: { enabledCommands: ["bitepoint.explain"] } },
        initializationOptions: {
            preview: true,
            images: true,
            lensCommand: "bitepoint.showPreview",
            explainLink: "command:bitepoint.explain?%5B%22{name}%22%5D",
        },
    });
    const running = (server = new WorkerServer(client));
    const preview = new Preview(context.extensionUri, running);
    const answers = new Answers();
    const oracle = new ByServer(running);
    const command = vscode.commands.registerCommand;
    const watcher = vscode.workspace.createFileSystemWatcher(AROUND);
    const changed = (uri: vscode.Uri) => void running.give([uri]);
    const { "bitepoint.compareWithCommit": _, ...asked } = QUESTIONS;
    context.subscriptions.push(
        preview,
        answers,
        watcher,
        watcher.onDidCreate(changed),
        watcher.onDidChange(changed),
        watcher.onDidDelete(changed),
        command("bitepoint.showPreview", (_?: unknown, system?: unknown) =>
            preview.show(typeof system === "string" ? system : undefined),
        ),
        ...Object.entries(asked).map(([name, question]) =>
            command(name, () => ask(question, running, answers, oracle)),
        ),
        command("bitepoint.compareWithSaved", () => ask(WITH_SAVED, running, answers, oracle)),
        command("bitepoint.explain", (what?: unknown) => explain(what, answers, oracle)),
        ...OF_PROGRAM.map((name) => command(name, ofProgram)),
        command("bitepoint.openSheet", () => openSheet(running)),
        command("bitepoint.saveSheet", () => saveSheet(running)),
    );
    try {
        worker.postMessage({ module: await vscode.workspace.fs.readFile(at("bitepoint.wasm")) });
        await client.start();
        await running.give(await vscode.workspace.findFiles(AROUND, undefined, MOST));
    } catch (error) {
        void vscode.window.showErrorMessage(`Bitepoint could not be started: ${String(error)}`);
    }
}

export async function deactivate(): Promise<void> {
    await server?.client.stop();
}
