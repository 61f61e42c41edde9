// The language server's life: one at a time, started, stopped and started anew.

import * as vscode from "vscode";
import {
    LanguageClient,
    State,
    type LanguageClientOptions,
    type ServerOptions,
} from "vscode-languageclient/node";
import type { Missing } from "./missing";
import { expanded, findProgram } from "./program";
import { worked } from "./protocol";

function logArguments(settings: vscode.WorkspaceConfiguration): string[] {
    const log = settings.get("log", "").trim();
    return log === "" ? [] : ["--log", expanded(log)];
}

export class Server {
    private client: LanguageClient | undefined;
    private output: vscode.LogOutputChannel | undefined;
    private changing: Promise<void> = Promise.resolve();
    private readonly workedOut = new vscode.EventEmitter<vscode.Uri>();

    /** A document was worked out anew, and what is shown of it may be old. */
    readonly onWorked = this.workedOut.event;

    constructor(private readonly missing: Missing) {}

    start(): Promise<void> {
        return this.inTurn(() => this.startNow());
    }

    stop(): Promise<void> {
        return this.inTurn(() => this.stopNow());
    }

    restart(): Promise<void> {
        return this.inTurn(async () => {
            await this.stopNow();
            await this.startNow();
        });
    }

    /** The client, while the server can be asked. */
    running(): LanguageClient | undefined {
        return this.client?.state === State.Running ? this.client : undefined;
    }

    asClient(uri: vscode.Uri): { uri: string } {
        return { uri: this.client?.code2ProtocolConverter.asUri(uri) ?? uri.toString() };
    }

    /** Two restarts in a row must not start two servers. */
    private inTurn(what: () => Promise<void>): Promise<void> {
        this.changing = this.changing.then(what, what);
        return this.changing;
    }

    private async startNow(): Promise<void> {
        const program = await findProgram();
        if (program === undefined) {
            this.missing.show("The bitepoint program was not found. Click to see how to get it.");
            return;
        }
        const settings = vscode.workspace.getConfiguration("bitepoint");
        const serverOptions: ServerOptions = {
            command: program,
            args: ["serve", ...logArguments(settings), ...settings.get<string[]>("arguments", [])],
        };
        this.output ??= vscode.window.createOutputChannel("Bitepoint", { log: true });
        const clientOptions: LanguageClientOptions = {
            documentSelector: [
                { language: "clutch", scheme: "file" },
                { language: "clutch", scheme: "untitled" },
                { pattern: "**/bitepoint.toml", scheme: "file" },
            ],
            outputChannel: this.output,
            // What the server links to may run this one command.
            markdown: { isTrusted: { enabledCommands: ["bitepoint.explain"] } },
            initializationOptions: {
                preview: true,
                images: true,
                lensCommand: "bitepoint.showPreview",
                // Behind the name of a check in findings, and where a spec allows one; behind a word in a hover.
                explainLink: "command:bitepoint.explain?%5B%22{name}%22%5D",
                libraries: settings.get<string[]>("libraries", []),
            },
            synchronize: {
                fileEvents: vscode.workspace.createFileSystemWatcher("**/{*.clutch,bitepoint.toml}"),
            },
        };
        const client = new LanguageClient("bitepoint", "Bitepoint", serverOptions, clientOptions);
        client.onNotification(worked, ({ uri }) => {
            this.workedOut.fire(client.protocol2CodeConverter.asUri(uri));
        });
        this.client = client;
        try {
            await client.start();
            this.missing.hide();
        } catch (error) {
            this.missing.show(`${program} could not be started: ${String(error)}`);
        }
    }

    private async stopNow(): Promise<void> {
        const client = this.client;
        this.client = undefined;
        // A server that never came up has nothing to stop.
        if (client !== undefined && client.state !== State.Stopped) {
            await client.dispose();
        }
    }
}
