// What is kept between visits: in the browser's storage, and in an address that can be sent.

// Every page from the disk may see what all of them keep, so what is kept is for the texts that a page
// came with: a shop's next page begins with its own.
let key;

export function keepFor(given) {
    let hash = 0;
    for (let i = 0; i < given.length; i += 1) hash = (Math.imul(hash, 31) + given.charCodeAt(i)) | 0;
    key = `bitepoint ${given.length} ${hash}`;
}

export function kept() {
    try {
        return JSON.parse(localStorage.getItem(key));
    } catch {
        return null;
    }
}

export function keep({ texts, file, system, pick, readings }) {
    try {
        localStorage.setItem(key, JSON.stringify({ texts, file, system, pick, readings }));
    } catch {
        // A browser may keep nothing for pages from the disk; the address still can.
    }
}

async function through(stream, bytes) {
    const piped = new Blob([bytes]).stream().pipeThrough(stream);
    return new Uint8Array(await new Response(piped).arrayBuffer());
}

export async function toAddress({ texts, file, system, pick, readings }) {
    const text = JSON.stringify({ texts, file, system, pick, readings });
    const bytes = await through(new CompressionStream("deflate-raw"), new TextEncoder().encode(text));
    const base64 = btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(""));
    return `#s=${base64.replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "")}`;
}

export async function fromAddress(hash) {
    const found = /^#s=([\w-]+)$/.exec(hash);
    if (found === null) return null;
    try {
        const base64 = found[1].replaceAll("-", "+").replaceAll("_", "/");
        const bytes = Uint8Array.from(atob(base64), (sign) => sign.charCodeAt(0));
        const text = new TextDecoder().decode(await through(new DecompressionStream("deflate-raw"), bytes));
        const { texts, file, system, pick, readings } = JSON.parse(text);
        if (typeof texts !== "object" || !Object.values(texts).every((one) => typeof one === "string")) return null;
        return { texts, file, system, pick: pick ?? {}, readings: readings ?? {} };
    } catch {
        return null;
    }
}
