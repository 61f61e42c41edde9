// The extension in a browser, where no program can be run: the server is a module of WebAssembly in a
// worker, and is given the files that it may read.

import * as vscode from "vscode";
import { LanguageClient, State } from "vscode-languageclient/browser";
import type { Server } from "./client";
import { Preview } from "./preview";
import { worked } from "./protocol";
import { FILES, type GivenFile } from "./session";
import { openSheet, saveSheet } from "./sheet";

/** What a spec may read. */
const AROUND = "**/{*.clutch,bitepoint.toml}";

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

export async function activate(context: vscode.ExtensionContext): Promise<void> {
    const at = (name: string) => vscode.Uri.joinPath(context.extensionUri, "dist", name);
    const worker = new Worker(at("worker.js").toString(true));
    worker.postMessage({ module: await vscode.workspace.fs.readFile(at("bitepoint.wasm")) });
    const client = new LanguageClient("bitepoint", "Bitepoint", worker, {
        documentSelector: [{ language: "clutch" }, { pattern: "**/bitepoint.toml" }],
        initializationOptions: {
            preview: true,
            images: true,
            lensCommand: "bitepoint.showPreview",
        },
    });
    const running = (server = new WorkerServer(client));
    const preview = new Preview(context.extensionUri, running);
    const command = vscode.commands.registerCommand;
    const watcher = vscode.workspace.createFileSystemWatcher(AROUND);
    const changed = (uri: vscode.Uri) => void running.give([uri]);
    context.subscriptions.push(
        preview,
        watcher,
        watcher.onDidCreate(changed),
        watcher.onDidChange(changed),
        watcher.onDidDelete(changed),
        command("bitepoint.showPreview", (_?: unknown, system?: unknown) =>
            preview.show(typeof system === "string" ? system : undefined),
        ),
        command("bitepoint.openSheet", () => openSheet(running)),
        command("bitepoint.saveSheet", () => saveSheet(running)),
    );
    await client.start();
    await running.give(await vscode.workspace.findFiles(AROUND, undefined, MOST));
}

export async function deactivate(): Promise<void> {
    await server?.client.stop();
}
