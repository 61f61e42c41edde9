// The core in a thread of its own, so that the page stays quick. Messages are { id, request }, and
// { id, answer }, { id, error } or { id, trapped } back.

import { Core } from "../core.mjs";

let core;

self.onmessage = ({ data }) => {
    if (data.module !== undefined) {
        core = new Core(data.module);
        self.postMessage({ ready: true });
        return;
    }
    const { id, request } = data;
    try {
        self.postMessage({ id, answer: core.ask(request) });
    } catch (error) {
        const trapped = error instanceof WebAssembly.RuntimeError || error instanceof RangeError;
        self.postMessage(trapped ? { id, trapped: true } : { id, error: error.message });
    }
};
