// The bytes of an element of the page that holds them as gzip in base64.
export async function unpacked(id) {
    const bytes = Uint8Array.from(atob(document.getElementById(id).textContent.trim()), (sign) => sign.charCodeAt(0));
    return new Response(new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"))).arrayBuffer();
}
