// A session with the server as a module of WebAssembly: messages of the protocol in and out, as objects.
// After a trap nothing of the module can be trusted: a new one is begun, with all that the client has
// said that still holds.

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
    params?: { textDocument?: { uri: string }; files?: GivenFile[] };
}

interface Exports {
    memory: WebAssembly.Memory;
    room(bytes: number): number;
    answer(): number;
    length(): number;
}

/** After so long without an edit, what was held back for the cursor is told. */
const LULL = 1000;

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
    private begin: Message[] = [];
    private readonly given = new Map<string, GivenFile>();
    /** What was said of each document since it was opened. */
    private readonly open = new Map<string, Message[]>();
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
        let answers: Message[];
        try {
            answers = this.core.take(message);
        } catch (error) {
            await this.restart(message, error);
            return;
        }
        this.note(message);
        answers.forEach((answer) => this.post(answer));
        // What an answer about findings has left out is told after the next lull.
        if (/didChange$|diagnostic$/.test(message.method ?? "")) {
            clearTimeout(this.quiet);
            this.quiet = setTimeout(() => void this.take({ method: QUIET }), LULL);
        }
    }

    /** Keeps what a new module would have to be told again. */
    private note(message: Message): void {
        const uri = message.params?.textDocument?.uri ?? "";
        switch (message.method) {
            case "initialize":
                this.begin = [message];
                break;
            case "workspace/didChangeConfiguration":
                this.begin.push(message);
                break;
            case FILES:
                for (const file of message.params?.files ?? []) {
                    this.given.set(file.uri, file);
                }
                break;
            case "textDocument/didOpen":
                this.open.set(uri, [message]);
                break;
            case "textDocument/didChange":
                this.open.get(uri)?.push(message);
                break;
            case "textDocument/didClose":
                this.open.delete(uri);
                break;
        }
    }

    /** Begins a new module. What made the last one fall is answered with an error, and left out. */
    private async restart(fatal: Message, error: unknown): Promise<void> {
        const message = `${fatal.method ?? "an answer"} failed; this is a mistake in Bitepoint: ${String(error)}`;
        const core = (this.core = await Core.of(this.module));
        const files = [...this.given.values()];
        const again = [...this.begin, { method: FILES, params: { files } }, ...this.open.values()].flat();
        again.forEach((said) => core.take(said));
        if (fatal.id === undefined) {
            const params = { type: 1, message };
            this.post({ jsonrpc: "2.0", method: "window/logMessage", params });
        } else {
            this.post({ jsonrpc: "2.0", id: fatal.id, error: { code: -32603, message } });
        }
    }
}
