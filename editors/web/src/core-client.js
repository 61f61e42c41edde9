// The core as promises. After a trap it is started anew and given the texts again.

import workerText from "worker-text";

const TRAPPED = "This text is too much for the page. The last change is kept; take it back, or check it with the program.";

export class CoreClient {
    #module;
    #worker;
    #waiting = new Map();
    #next = 0;
    #texts = {};

    constructor(module) {
        this.#module = module;
        this.#start();
    }

    #start() {
        const url = URL.createObjectURL(new Blob([workerText], { type: "text/javascript" }));
        this.#worker = new Worker(url);
        URL.revokeObjectURL(url);
        this.#worker.onmessage = ({ data }) => this.#heard(data);
        this.#worker.postMessage({ module: this.#module });
    }

    #heard({ id, answer, error, trapped }) {
        const waiting = this.#waiting.get(id);
        if (waiting === undefined) return;
        this.#waiting.delete(id);
        if (trapped) {
            this.#restart();
            waiting.reject(new Error(TRAPPED));
        } else if (error !== undefined) waiting.reject(new Error(error));
        else waiting.resolve(answer);
    }

    #restart() {
        this.#worker.terminate();
        for (const { reject } of this.#waiting.values()) reject(new Error(TRAPPED));
        this.#waiting.clear();
        this.#start();
        this.setTexts(this.#texts).catch(() => {});
    }

    ask(request) {
        const id = this.#next++;
        return new Promise((resolve, reject) => {
            this.#waiting.set(id, { resolve, reject });
            this.#worker.postMessage({ id, request });
        });
    }

    setTexts(texts) {
        this.#texts = texts;
        return this.ask({ verb: "texts", texts });
    }
}
