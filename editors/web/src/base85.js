// Bytes as text, four of them in five signs as in Ascii85: a tenth shorter than base64. No sign means anything in HTML.

const SIGNS = Array.from({ length: 94 }, (_, i) => String.fromCharCode(33 + i)).filter((sign) => !"\"$&'<>\\`/".includes(sign)).join("");

export function encoded(bytes) {
    const groups = [];
    for (let at = 0; at < bytes.length; at += 4) {
        const count = Math.min(4, bytes.length - at);
        let number = 0;
        for (let i = 0; i < 4; i++) number = number * 256 + (i < count ? bytes[at + i] : 0);
        let group = "";
        for (let i = 0; i < 5; i++) {
            group = SIGNS[number % 85] + group;
            number = Math.floor(number / 85);
        }
        groups.push(group.slice(0, count + 1));
    }
    return groups.join("");
}

export function decoded(text) {
    const values = new Uint8Array(128);
    for (let i = 0; i < 85; i++) values[SIGNS.charCodeAt(i)] = i;
    const whole = Math.floor(text.length / 5);
    const rest = text.length % 5;
    const bytes = new Uint8Array(whole * 4 + Math.max(0, rest - 1));
    for (let at = 0, to = 0; at < text.length; at += 5, to += 4) {
        let number = 0;
        // A group that is cut short is filled with the greatest sign, which the cut bytes do not reach.
        for (let i = 0; i < 5; i++) number = number * 85 + (at + i < text.length ? values[text.charCodeAt(at + i)] : 84);
        for (let i = 3; i >= 0; i--) {
            if (to + i < bytes.length) bytes[to + i] = number % 256;
            number = Math.floor(number / 256);
        }
    }
    return bytes;
}
