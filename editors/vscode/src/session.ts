// A session with the server as a module of WebAssembly: messages of the protocol in and out, as objects.
// After a trap nothing of the module can be trusted: a new one is begun, with all that the client has
// said that still holds. Of each document that is its text as it stands.

import { TextDocument, type TextDocumentContentChangeEvent } from "vscode-languageserver-textdocument";

export const FILES = "bitepoint/files";
const QUIET = "bitepoint/quiet";

/** A file around the documents, without a text where it is gone. */
export interface GivenFile {
    uri: string;
    text?: string;
}

export interface Message {
    id?: number | string;
    method?: string;
    params?: {
        textDocument?: { uri: string; languageId?: string; version?: number; text?: string };
        contentChanges?: TextDocumentContentChangeEvent[];
        files?: GivenFile[];
    };
}

interface Exports {
    memory: WebAssembly.Memory;
    room(bytes: number): number;
    answer(): number;
    length(): number;
}

/** After so long without an edit, what was held back for the cursor is told. */
const LULL = 1000;

/** A document that the client has open. */
interface Open {
    document: TextDocument;
    /** Whether the module has it: not where it fell over this text. */
    isGiven: boolean;
}

const opening = ({ document }: Open): Message => ({
    method: "textDocument/didOpen",
    params: {
        textDocument: {
            uri: document.uri,
            languageId: document.languageId,
            version: document.version,
            text: document.getText(),
        },
    },
});

/** The server as the module has it. */
class Core {
    private constructor(private readonly exports: Exports) {}

    static async of(module: WebAssembly.Module): Promise<Core> {
        const instance = await WebAssembly.instantiate(module, {});
        return new Core(instance.exports as unknown as Exports);
    }

    /** What the server says to a message. */
    take(message: Message): Message[] {
        const { memory, room, answer, length } = this.exports;
        const bytes = new TextEncoder().encode(JSON.stringify(message));
        const at = room(bytes.length) >>> 0;
        new Uint8Array(memory.buffer, at, bytes.length).set(bytes);
        const from = answer() >>> 0;
        const said = new Uint8Array(memory.buffer, from, length() >>> 0);
        return JSON.parse(new TextDecoder().decode(said)) as Message[];
    }
}

export class WorkerSession {
    private core: Core | undefined;
    /** How the client has begun, and what it has set. */
    private begun: Message[] = [];
    private readonly given = new Map<string, GivenFile>();
    private readonly open = new Map<string, Open>();
    private quiet: ReturnType<typeof setTimeout> | undefined;
    private last: Promise<void> = Promise.resolve();

    constructor(
        private readonly module: WebAssembly.Module,
        private readonly post: (message: object) => void,
    ) {}

    /** Takes a message when all before it are answered, also where one of them failed. */
    take(message: Message): Promise<void> {
        const next = () => this.handle(message);
        this.last = this.last.then(next, next);
        return this.last;
    }

    private async handle(message: Message): Promise<void> {
        this.core ??= await Core.of(this.module);
        const edited = this.follow(message);
        let answers: Message[];
        try {
            // One that fell over the text before is given the text that there is now.
            answers = this.core.take(edited?.isGiven === false ? opening(edited) : message);
        } catch (error) {
            await this.restart(message, error, edited);
            return;
        }
        if (edited !== undefined) {
            edited.isGiven = true;
        }
        this.note(message);
        answers.forEach((answer) => this.post(answer));
        // What an answer about findings has left out is told after the next lull.
        if (/didChange$|diagnostic$/.test(message.method ?? "")) {
            clearTimeout(this.quiet);
            this.quiet = setTimeout(() => void this.take({ method: QUIET }), LULL);
        }
    }

    /** Follows the documents that the client has open; gives the one that a message opens or edits. */
    private follow({ method, params }: Message): Open | undefined {
        const { uri = "", languageId = "", version = 0, text = "" } = params?.textDocument ?? {};
        const known = this.open.get(uri);
        switch (method) {
            case "textDocument/didOpen": {
                const document = TextDocument.create(uri, languageId, version, text);
                const opened = { document, isGiven: true };
                this.open.set(uri, opened);
                return opened;
            }
            case "textDocument/didChange":
                if (known !== undefined) {
                    TextDocument.update(known.document, params?.contentChanges ?? [], version);
                }
                return known;
            case "textDocument/didClose":
                this.open.delete(uri);
        }
        return undefined;
    }

    /** Keeps what else a new module would have to be told again. */
    private note(message: Message): void {
        switch (message.method) {
            case "initialize":
                this.begun = [message];
                break;
            case "workspace/didChangeConfiguration":
                this.begun.push(message);
                break;
            case FILES:
                for (const file of message.params?.files ?? []) {
                    this.given.set(file.uri, file);
                }
                break;
        }
    }

    /**
     * Begins a new module. What made the last one fall is answered with an error, and left out; a text
     * that did so, until it is edited again.
     */
    private async restart(fatal: Message, error: unknown, edited: Open | undefined): Promise<void> {
        const message = `${fatal.method ?? "an answer"} failed; this is a mistake in Bitepoint: ${String(error)}`;
        if (edited !== undefined) {
            edited.isGiven = false;
        }
        const core = (this.core = await Core.of(this.module));
        const files = [...this.given.values()];
        const documents = [...this.open.values()].filter(({ isGiven }) => isGiven);
        [...this.begun, { method: FILES, params: { files } }, ...documents.map(opening)].forEach((said) =>
            core.take(said),
        );
        if (fatal.id === undefined) {
            const params = { type: 1, message };
            this.post({ jsonrpc: "2.0", method: "window/logMessage", params });
        } else {
            this.post({ jsonrpc: "2.0", id: fatal.id, error: { code: -32603, message } });
        }
    }
}
