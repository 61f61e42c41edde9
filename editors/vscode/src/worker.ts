// The worker that the extension starts in a browser. The first message holds the module; those that
// come before it is ready wait.

import { WorkerSession, type Message } from "./session";

const scope = globalThis as unknown as {
    onmessage: ((event: { data: Message & { module?: BufferSource } }) => void) | null;
    postMessage(message: unknown): void;
};

let session: Promise<WorkerSession> | undefined;

scope.onmessage = ({ data }) => {
    if (data.module !== undefined) {
        session = WebAssembly.compile(data.module).then(
            (module) => new WorkerSession(module, (message) => scope.postMessage(message)),
        );
        session.catch((error: unknown) => {
            const params = { type: 1, message: `Bitepoint could not be started: ${String(error)}` };
            scope.postMessage({ jsonrpc: "2.0", method: "window/showMessage", params });
        });
        return;
    }
    session?.then((begun) => begun.take(data)).catch(() => undefined);
};
