import { decoded } from "./base85.js";

// The bytes of an element of the page that holds them as gzip in base 85.
export async function unpacked(id) {
    const bytes = decoded(document.getElementById(id).textContent.trim());
    return new Response(new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"))).arrayBuffer();
}
