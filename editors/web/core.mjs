// The core, as a module of WebAssembly, called with requests and answers of JSON. It stays whole only
// while no call traps: whoever sees one makes a new core and gives it the texts again.

export class Core {
    #exports;

    constructor(module) {
        this.#exports = new WebAssembly.Instance(module, {}).exports;
    }

    // The answer to a request; throws an `Error` with a sentence where there is none.
    ask(request) {
        const { memory, room, answer, length } = this.#exports;
        const bytes = new TextEncoder().encode(JSON.stringify(request));
        const at = room(bytes.length) >>> 0;
        new Uint8Array(memory.buffer, at, bytes.length).set(bytes);
        const from = answer() >>> 0;
        const text = new TextDecoder().decode(new Uint8Array(memory.buffer, from, length() >>> 0));
        const reply = JSON.parse(text);
        if (reply.error !== undefined) throw new Error(reply.error);
        return reply.answer;
    }
}
