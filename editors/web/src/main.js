// The page: an editor, and beside it what the core says of the text.

import { CoreClient } from "./core-client.js";
import { element } from "./dom.js";
import { makeEditor } from "./editor.js";
import { fromAddress, keep, keepFor, kept, toAddress } from "./store.js";
import { unpacked } from "./unpack.js";

const $ = (id) => document.getElementById(id);

const core = new CoreClient(await WebAssembly.compile(await unpacked("module")));
const brought = Object.entries(JSON.parse($("texts").textContent));
const isPicture = ([, text]) => text.startsWith("data:image/");
const given = Object.fromEntries(brought.filter((one) => !isPicture(one)));
// They are shown on sheets, and are no texts to edit, to keep or to send.
const pictures = Object.fromEntries(brought.filter(isPicture));
keepFor($("texts").textContent);

const state = { texts: given, file: undefined, system: undefined, pick: {}, readings: {} };
Object.assign(state, (await fromAddress(location.hash)) ?? kept() ?? {});

const editor = makeEditor({
    parent: $("editor"),
    ask: (request) => core.ask(request),
    file: () => state.file,
    changed: (text) => {
        state.texts = { ...state.texts, [state.file]: text };
        later();
    },
});

// ---- what is asked after every change ---------------------------------------------------------

let timer;
let round = 0;

function later() {
    clearTimeout(timer);
    timer = setTimeout(refresh, 120);
}

function said(message) {
    $("status").textContent = message;
}

async function refresh() {
    const mine = ++round;
    const isLate = () => mine !== round;
    keep(state);
    try {
        await core.setTexts({ ...state.texts, ...pictures });
        const { file } = state;
        const [words, findings, systems] = await Promise.all([
            core.ask({ verb: "highlights", file }),
            core.ask({ verb: "findings", file }),
            core.ask({ verb: "systems", file }),
        ]);
        if (isLate()) return;
        editor.colour(words);
        editor.mark(findings, applyFix);
        showFindings(findings);
        showSystems(systems);
        await showPanel(isLate);
        const count = findings.filter((one) => one.severity === "error").length;
        if (!isLate()) said(count === 0 ? "no errors" : `${count} ${count === 1 ? "error" : "errors"}`);
    } catch (error) {
        if (!isLate()) said(error.message);
    }
}

function applyFix({ edits }) {
    for (const other of new Set(edits.map((edit) => edit.file))) {
        if (other !== state.file) openFile(other);
        editor.change(edits.filter((edit) => edit.file === other));
    }
}

// ---- files ------------------------------------------------------------------------------------

function showFiles() {
    const names = Object.keys(state.texts).sort();
    $("file").replaceChildren(...names.map((name) => element("option", { selected: name === state.file }, name)));
}

function openFile(name) {
    state.file = name;
    editor.setText(state.texts[name]);
    showFiles();
    later();
}

const firstSpec = (texts) =>
    Object.keys(texts).find((name) => /^system\b/m.test(texts[name])) ?? Object.keys(texts)[0];

// Files come without their folders. One that another uses by a path is that path's.
function asUsed(texts) {
    const named = { ...texts };
    for (const [from, text] of Object.entries(texts)) {
        for (const [, path] of text.matchAll(/^\s*use\s+"([^"]+)"/gm)) {
            const folder = from.includes("/") ? from.slice(0, from.lastIndexOf("/") + 1) : "";
            const name = folder + path;
            const bare = path.split("/").pop();
            if (path.startsWith("..") || named[name] !== undefined || named[bare] === undefined) continue;
            named[name] = named[bare];
            delete named[bare];
        }
    }
    return named;
}

$("file").onchange = ({ target }) => openFile(target.value);
$("open").onclick = () => $("pick-files").click();
$("pick-files").onchange = async ({ target }) => {
    const texts = { ...state.texts };
    const opened = [...target.files];
    for (const file of opened) texts[file.name] = await file.text();
    target.value = "";
    state.texts = asUsed(texts);
    const of = (name) => opened.some((file) => name === file.name || name.endsWith(`/${file.name}`));
    const found = Object.entries(state.texts).filter(([name]) => of(name));
    if (found.length > 0) openFile(firstSpec(Object.fromEntries(found)));
};
$("save").onclick = () => {
    const blob = new Blob([state.texts[state.file]], { type: "text/plain" });
    const link = element("a", { href: URL.createObjectURL(blob), download: state.file.split("/").pop() });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
};
$("link").onclick = async () => {
    history.replaceState(null, "", await toAddress(state));
    try {
        await navigator.clipboard.writeText(location.href);
        said("The link is copied. It holds the whole text.");
    } catch {
        said("The link is in the address bar. It holds the whole text.");
    }
};
$("format").onclick = async () => {
    const edits = await core.ask({ verb: "format", file: state.file });
    if (edits.length > 0) editor.change(edits);
};
$("again").onclick = () => {
    if (!confirm("Put back the texts that came with this page? Changes are lost.")) return;
    Object.assign(state, { texts: given, system: undefined, pick: {}, readings: {} });
    history.replaceState(null, "", location.pathname);
    openFile(firstSpec(given));
};

// ---- systems and their choices ----------------------------------------------------------------

let systems = [];
const chosen = () => systems.find((one) => one.name === state.system);

function showSystems(found) {
    systems = found;
    if (chosen() === undefined) state.system = systems[0]?.name;
    const options = systems.map((one) =>
        element("option", { value: one.name, selected: one.name === state.system }, one.title ?? one.name));
    $("system").replaceChildren(...options);
    $("verdict").textContent = chosen()?.line ?? "";
    for (const { block, parts } of chosen()?.choices ?? [])
        if (!parts.includes(state.pick[block])) state.pick[block] = parts[0];
}

$("system").onchange = ({ target }) => {
    state.system = target.value;
    state.pick = {};
    state.readings = {};
    refresh();
};

// What requests are about: a system, with what is picked where it leaves a choice.
function of() {
    const choices = chosen()?.choices ?? [];
    const pick = Object.fromEntries(choices.map(({ block }) => [block, state.pick[block]]));
    return { file: state.file, system: state.system, ...(choices.length > 0 ? { pick } : {}) };
}

// What comes of a choice with all the others as they are picked, in a word or two.
async function outcome(block, part) {
    const asked = of();
    const text = await core.ask({ verb: "calc", ...asked, pick: { ...asked.pick, [block]: part } });
    const { findings } = JSON.parse(text);
    const errors = findings.filter(({ severity }) => severity === "error");
    if (errors.some(({ check }) => check === "does-not-fit")) return "does not fit";
    if (errors.length > 0) return "does not work";
    return findings.some(({ severity }) => severity === "warning") ? "works, with a warning" : "works";
}

// The choices as a form. A change that comes meanwhile stops it: it asks for the form anew.
async function choiceFields(isLate) {
    const fields = [];
    for (const { block, parts } of chosen().choices) {
        const options = [];
        for (const part of parts) {
            if (isLate()) return [];
            const comes = await outcome(block, part);
            options.push(element("option", { value: part, selected: state.pick[block] === part }, `${part}: ${comes}`));
        }
        const onchange = ({ target }) => {
            state.pick[block] = target.value;
            refresh();
        };
        fields.push(element("label", {}, `${block} `, element("select", { onchange, name: block }, ...options)));
    }
    return fields;
}

// ---- panels -----------------------------------------------------------------------------------

const tabs = [...document.querySelectorAll("[role=tab]")];

function selectTab(tab, focus) {
    for (const one of tabs) {
        const is = one === tab;
        one.setAttribute("aria-selected", String(is));
        one.tabIndex = is ? 0 : -1;
        $(one.getAttribute("aria-controls")).hidden = !is;
    }
    if (focus) tab.focus();
    refresh();
}

for (const [i, tab] of tabs.entries()) {
    tab.onclick = () => selectTab(tab);
    tab.onkeydown = ({ key }) => {
        const step = { ArrowRight: 1, ArrowLeft: -1 }[key];
        if (step !== undefined) selectTab(tabs[(i + step + tabs.length) % tabs.length], true);
    };
}

const panels = { drawings: showDrawings, sheet: showSheet, faults: showFaults, choices: showChoices };

async function showPanel(isLate) {
    const id = tabs.find((tab) => tab.ariaSelected === "true").getAttribute("aria-controls");
    const panel = $(id);
    if (panels[id] === undefined) return;
    const put = (...children) => isLate() || panel.replaceChildren(...children);
    if (chosen() === undefined) return put(element("p", {}, "There is no system in this file."));
    try {
        await panels[id](put, isLate);
    } catch (error) {
        put(element("p", {}, error.message));
    }
}

function showFindings(findings) {
    const severities = ["error", "warning", "info", "hint"];
    const rank = ({ severity }) => severities.indexOf(severity);
    const items = [...findings].sort((one, other) => rank(one) - rank(other)).map((finding) => {
        const go = element("button", { class: "place", onclick: () => editor.goTo(finding.range) },
            `line ${finding.range.start.line + 1}`);
        const fixes = finding.fixes.map((fix) =>
            element("button", { class: "fix", onclick: () => applyFix(fix) }, fix.title));
        return element("li", { class: finding.severity },
            element("p", {}, element("strong", {}, finding.severity), ` ${finding.check} `, go),
            element("p", {}, (finding.system === null ? "" : `${finding.system}: `) + finding.message),
            finding.help === null || fixes.length > 0 ? undefined : element("p", { class: "help" }, finding.help),
            ...fixes);
    });
    $("findings").replaceChildren(
        items.length === 0 ? element("p", {}, "Nothing is found.") : element("ul", { class: "findings" }, ...items));
}

async function showDrawings(put) {
    const [drawing] = await core.ask({ verb: "drawings", ...of() });
    const picture = (svg, alt) =>
        svg === null ? undefined : element("img", { src: `data:image/svg+xml,${encodeURIComponent(svg)}`, alt });
    const words = (svg) => new DOMParser().parseFromString(svg ?? "<svg/>", "image/svg+xml").querySelector("desc")?.textContent;
    if (drawing?.curves === null) return put(element("p", {}, "Nothing is drawn of a system that is not worked out."));
    put(picture(drawing.curves, words(drawing.curves)), picture(drawing.chain, words(drawing.chain)));
}

async function showSheet(put) {
    const full = $("full")?.checked ?? false;
    const text = await core.ask({ verb: "sheet", ...of(), full });
    const frame = element("iframe", { title: "The fitting sheet", sandbox: "allow-same-origin allow-modals", srcdoc: text });
    put(
        element("p", {},
            element("button", { id: "print", onclick: () => frame.contentWindow.print() }, "Print"), " ",
            element("label", {}, element("input", { type: "checkbox", id: "full", checked: full, onchange: refresh }),
                " with all results, curves and the drawing")),
        frame);
}

// Fault-finding: what was measured, what it says, and what to measure next.
async function showFaults(put) {
    const askable = await core.ask({ verb: "askable", ...of() });
    const rows = askable.map(({ name, how, right }) => {
        const oninput = ({ target }) => {
            state.readings[name] = target.value;
            clearTimeout(timer);
            timer = setTimeout(diagnosed, 300);
        };
        const id = `reading-${name}`;
        return element("div", { class: "reading" },
            element("label", { for: id }, name.replaceAll("_", " ")),
            element("input", { id, oninput, value: state.readings[name] ?? "", placeholder: right, autocomplete: "off", "aria-describedby": `${id}-how` }),
            element("details", {}, element("summary", {}, "How to measure it"),
                element("p", { id: `${id}-how`, class: "help" }, how)));
    });
    const answer = element("div", { id: "diagnosis", "aria-live": "polite" });

    async function diagnosed() {
        keep(state);
        const given = Object.entries(state.readings).filter(([, value]) => value.trim() !== "");
        const readings = given.map(([name, value]) => `${name}=${value}`);
        try {
            const { visits } = await core.ask({ verb: "diagnose", ...of(), readings });
            answer.replaceChildren(...visits.map(visitTold));
            if (visits.length === 0) answer.replaceChildren(element("p", {}, "Enter what you measured, with its unit."));
        } catch (error) {
            answer.replaceChildren(element("p", {}, error.message));
        }
    }
    put(element("p", {}, "Work under a car only when it stands safely on stands, and follow the vehicle maker's data."),
        ...rows, answer);
    await diagnosed();
}

function visitTold(visit) {
    const list = (title, rows) => rows.length === 0 ? [] : [element("h3", {}, title), element("ul", {}, ...rows.map((row) => element("li", {}, row)))];
    const next = visit.next.map(({ name, how, values }) =>
        element("li", {}, element("strong", {}, name.replaceAll("_", " ")), ` ${how}`,
            element("ul", {}, ...values.map(([value, faults]) => element("li", {}, `${value}: ${faults.join(" or ")}`)))));
    const cures = visit.cures.map(({ of, steps }) =>
        element("li", {}, element("strong", {}, of.replaceAll("_", " ")), element("ol", {}, ...steps.map((step) => element("li", {}, step)))));
    return element("section", {},
        element("h2", {}, visit.label ?? "What the readings say"),
        ...visit.verdict.map((sentence) => element("p", { class: "verdict" }, sentence)),
        ...list(visit.explains ? "What explains it" : "What nearly explains it", visit.causes.map((cause) => (cause.is_equal ? "= " : "") + cause.words)),
        ...list("Together", visit.pairs),
        ...(next.length === 0 ? [] : [element("h3", {}, "What to measure next"), element("ul", {}, ...next)]),
        ...(cures.length === 0 ? [] : [element("h3", {}, "Cures"), ...visit.before_cures.map((one) => element("p", {}, one)), element("ul", {}, ...cures)]),
        ...list("Cautions", visit.cautions));
}

// A kit's choices: what is picked, and what comes of it.
async function showChoices(put, isLate) {
    if (chosen().choices.length === 0) return put(element("p", {}, "This system leaves nothing to choose."));
    const [text, check] = await Promise.all([
        core.ask({ verb: "calc", ...of() }),
        core.ask({ verb: "check", file: state.file }),
    ]);
    const { findings } = JSON.parse(text);
    const kit = JSON.parse(check).kits.find((one) => one.system === state.system);
    const counts = kit === undefined ? [] : [element("p", {}, `${kit.tried - kit.failing} of ${kit.tried} combinations work.`)];
    const told = findings.filter((one) => one.severity === "error" || one.severity === "warning");
    const works = !told.some((one) => one.severity === "error");
    put(...counts, element("div", { class: "choices" }, ...await choiceFields(isLate)),
        element("p", { class: works ? "works" : "fails", role: "status" }, works ? "This combination passes every check." : "This combination does not work:"),
        element("ul", {}, ...told.map((one) => element("li", {}, `${one.severity}: ${one.message}`))),
        ...fitting(kit));
}

// For each choice, how many combinations with it work.
function fitting(kit) {
    return (kit?.axes ?? []).map((axis) => element("table", {},
        element("caption", {}, axis.block),
        element("tr", {}, element("th", { scope: "col" }, "part"), element("th", { scope: "col" }, "combinations that work")),
        ...axis.choices.map((choice) => element("tr", {}, element("th", { scope: "row" }, choice.name), element("td", {}, `${choice.tried - choice.failing} of ${choice.tried}`)))));
}

openFile(state.texts[state.file] === undefined ? firstSpec(state.texts) : state.file);
await refresh();
document.documentElement.dataset.ready = "true";
