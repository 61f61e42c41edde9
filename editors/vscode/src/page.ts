// The preview's page: puts the drawing in its place and the values below it.

import type { FromPage, ToPage } from "./preview";
import type { Curve, Finding } from "./protocol";

declare function acquireVsCodeApi(): { postMessage(message: FromPage): void };

const editor = acquireVsCodeApi();
const tell = (message: FromPage) => editor.postMessage(message);

function element<T extends HTMLElement>(id: string): T {
    return document.getElementById(id) as T;
}

const title = element("title");
const verdict = element("verdict");
const why = element("why");
const findings = element("findings");
const drawing = element("drawing");
const values = element("values");
const place = element<HTMLInputElement>("place");
const placed = element("placed");
const row = element("row");

let shown: Curve | undefined;
/** Where along the travel the reader looks, from 0 to 1: kept while the travel changes. */
let share = 1;

window.addEventListener("message", ({ data }: MessageEvent<ToPage>) => {
    if ("nothing" in data) {
        show({ version: null, system: null, title: null, columns: [], rows: [], why: data.nothing });
        values.hidden = true;
    } else {
        show(data.curve);
        values.hidden = !data.values || data.curve.rows.length === 0;
    }
});

place.addEventListener("input", () => {
    share = Number(place.value) / Math.max(1, Number(place.max));
    showRow();
});

function show(curve: Curve): void {
    shown = curve;
    title.textContent = [curve.system, curve.title].filter((name) => name).join(": ");
    verdict.textContent = curve.verdict ?? "";
    verdict.dataset["standing"] = curve.standing ?? "none";
    why.textContent = curve.why ?? "";
    findings.replaceChildren(...(curve.findings ?? []).map(item));
    const svg = curve.svg ? parsed(curve.svg) : undefined;
    drawing.replaceChildren(...(svg === undefined ? [] : [svg]));
    document.body.dataset["version"] = String(curve.version);
    place.max = String(Math.max(0, curve.rows.length - 1));
    place.value = String(Math.round(share * Number(place.max)));
    showRow();
}

/** A finding; one that is in this document leads there. */
function item(finding: Finding): Element {
    const li = document.createElement("li");
    li.dataset["severity"] = finding.severity;
    li.textContent = `${finding.severity}: ${finding.message} `;
    const check = document.createElement(finding.range === undefined ? "span" : "button");
    check.className = "check";
    check.textContent = finding.check;
    check.addEventListener("click", () => finding.range && tell({ goTo: finding.range }));
    li.appendChild(check);
    return li;
}

/** A drawing as a tree of its own; one that is not well formed shows nothing. */
function parsed(svg: string): Element | undefined {
    const root = new DOMParser().parseFromString(svg, "image/svg+xml").documentElement;
    if (root.localName !== "svg") {
        return undefined;
    }
    // It fills the width that there is, which its own size would prevent.
    root.removeAttribute("width");
    root.removeAttribute("height");
    return document.importNode(root, true);
}

function showRow(): void {
    const cells = shown?.rows[Number(place.value)] ?? [];
    const lines = (shown?.columns ?? []).map((column, i) => {
        const value = cells[i];
        // Four figures are more than a gauge shows.
        const text = value == null ? "–" : String(Number(value.toPrecision(4)));
        return { label: column.label, value: text, unit: column.unit };
    });
    const [along, ...rest] = lines;
    placed.textContent = along ? `${along.label}: ${along.value} ${along.unit}` : "";
    row.replaceChildren(
        ...rest.map((line) => {
            const tr = document.createElement("tr");
            for (const text of [line.label, line.value, line.unit]) {
                tr.appendChild(document.createElement("td")).textContent = text;
            }
            return tr;
        }),
    );
}

tell("ready");
