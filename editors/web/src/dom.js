// Elements out of data. All text is put in as text, so that nothing in a spec is ever markup.

export function element(name, attributes = {}, ...children) {
    const made = document.createElement(name);
    for (const [key, value] of Object.entries(attributes)) {
        if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
        else if (value === true) made.setAttribute(key, "");
        else if (value !== false && value !== undefined && value !== null) made.setAttribute(key, value);
    }
    made.append(...children.flat().filter((child) => child !== undefined && child !== null));
    return made;
}

// The little Markdown that hovers are written in: paragraphs, lists, code, bold and italic words.
export function markdown(text) {
    const root = element("div", { class: "markdown" });
    let list, code, paragraph, table;
    for (const line of text.split("\n")) {
        if (line.startsWith("```")) {
            if (code === undefined) root.append((code = element("pre")));
            else code = undefined;
            list = paragraph = undefined;
        } else if (code !== undefined) code.append(`${line}\n`);
        else if (/^\s*$/.test(line)) list = paragraph = table = undefined;
        else if (/^\s*- /.test(line)) {
            if (list === undefined) root.append((list = element("ul")));
            list.append(element("li", {}, ...words(line.replace(/^\s*- /, ""))));
            paragraph = undefined;
        } else if (/^\|[-| :]+\|$/.test(line)) continue;
        else if (line.startsWith("|")) {
            const cell = table === undefined ? "th" : "td";
            if (table === undefined) root.append((table = element("table")));
            const cells = line.slice(1, line.lastIndexOf("|")).split("|");
            table.append(element("tr", {}, ...cells.map((text) => element(cell, {}, ...words(text.trim())))));
        } else {
            if (paragraph === undefined) root.append((paragraph = element("p")));
            else paragraph.append(" ");
            paragraph.append(...words(line.replace(/^#+ /, "")));
        }
    }
    return root;
}

function words(text) {
    const pieces = text.split(/(`[^`]+`|\*\*[^*]+\*\*|\*[^*]+\*|!?\[[^\]]*\]\([^)]*\))/);
    return pieces.map((piece) => {
        const bare = (piece) => piece.replace(/\\(.)/g, "$1");
        if (/^`.+`$/.test(piece)) return element("code", {}, piece.slice(1, -1));
        if (/^\*\*.+\*\*$/.test(piece)) return element("strong", {}, ...words(piece.slice(2, -2)));
        if (/^\*.+\*$/.test(piece)) return element("em", {}, bare(piece.slice(1, -1)));
        const link = /^!?\[([^\]]*)\]/.exec(piece);
        return link === null ? bare(piece) : bare(link[1]);
    });
}
