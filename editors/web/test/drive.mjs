// Drives the page in headless Chromium as a buyer would, from the disk.
//
//   node drive.mjs PAGE PICTURES

import assert from "node:assert/strict";
import { mkdirSync, readFileSync, readdirSync, statSync } from "node:fs";
import { createRequire } from "node:module";
import { resolve } from "node:path";
import { chromium } from "playwright-core";

const [, , page_, pictures] = process.argv;
const address = `file://${resolve(page_)}`;
mkdirSync(pictures, { recursive: true });
assert.ok(statSync(page_).size < 1.2e6, `the page has ${statSync(page_).size} bytes`);

const browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});
const context = await browser.newContext({ viewport: { width: 1200, height: 800 } });
const page = await context.newPage();
page.setDefaultTimeout(20_000);

// No request leaves the page, and nothing in it fails.
const wrong = [];
page.on("request", (request) => {
    if (!/^(file|data|blob|about):/.test(request.url())) wrong.push(`asks for ${request.url()}`);
});
page.on("pageerror", (error) => wrong.push(error.message));
page.on("console", (message) => message.type() === "error" && wrong.push(message.text()));

// What the page cannot be brought to by a text: a trap, as its worker tells of one.
await context.addInitScript(() => {
    window.workers = 0;
    window.Worker = class extends window.Worker {
        constructor(...given) {
            super(...given);
            window.workers += 1;
        }

        set onmessage(heard) {
            super.onmessage = ({ data }) => {
                const trapped = window.trap && data.id !== undefined;
                if (trapped) window.trap = false;
                heard({ data: trapped ? { id: data.id, trapped } : data });
            };
        }
    };
});

const ready = (page) => page.waitForSelector("html[data-ready]");
const shot = (name) => page.screenshot({ path: `${pictures}/${name}.png` });
async function setText(text) {
    await page.locator(".cm-content").click();
    await page.mouse.move(5, 790);
    await page.keyboard.press("Control+a");
    await page.keyboard.insertText(text);
}
const seen = (text) => page.getByText(text).first().waitFor();

const CAR = `system van "Van" {
    pedal { ratio = 6  travel = 150 mm }
    master { bore = 3/4 in  stroke = 36 mm }
    slave { bore = 1 in  stroke = 30 mm }
    fork { ratio = 1.5 }
    cover { release_travel = 11 mm to 14 mm  release_load = 1500 N }
}
`;

await page.goto(address);
await ready(page);
await shot("first");
const start = await page.evaluate(() => performance.now());
console.log(`page: ready after ${start.toFixed(0)} ms`);

// A spec with a mistake: the finding, its colours, its fix.
await setText(CAR);
await seen("short-release");
assert.ok((await page.locator(".cm-lintRange-error").count()) > 0, "the mistake is underlined");
await page.locator(".cm-content .role-keyword").first().waitFor();
await shot("finding");
await page.locator("li.error .fix").first().click();
await page.waitForFunction(() => document.querySelectorAll("#findings li.error").length === 0);

// After a trap the core starts anew, says so, and the next change is looked at like any other.
await page.evaluate(() => (window.trap = true));
await setText(CAR);
await page.locator("#status", { hasText: "too much for the page" }).waitFor();
assert.equal(await page.evaluate(() => window.workers), 2, "a second worker");
await setText(`${CAR}\n`);
await seen("short-release");
await page.locator("li.error .fix").first().click();
await page.waitForFunction(() => document.querySelectorAll("#findings li.error").length === 0);

// A hover.
await page.locator(".cm-content .role-field").first().hover();
await page.locator(".cm-tooltip .markdown").waitFor();
await shot("hover");
await page.mouse.move(0, 0);

// A completion.
await page.locator(".cm-line", { hasText: "fork {" }).click();
await page.keyboard.press("End");
await page.keyboard.press("Enter");
await page.keyboard.type("flu");
await page.locator(".cm-tooltip-autocomplete li", { hasText: "fluid" }).first().waitFor();
await shot("completion");
await page.keyboard.press("Escape");
for (let i = 0; i < 4; i += 1) await page.keyboard.press("Backspace");

// The drawings, the sheet.
await page.getByRole("tab", { name: "Drawing" }).click();
await page.locator("#drawings img").nth(1).waitFor();
await page.waitForFunction(() => [...document.querySelectorAll("#drawings img")].every((one) => one.complete && one.naturalWidth > 100));
await shot("drawings");
await page.getByRole("tab", { name: "Sheet" }).click();
const sheet = page.frameLocator("#sheet iframe");
await sheet.getByText("Van").first().waitFor();
await shot("sheet");
// It prints, to two pages.
await page.locator("#sheet iframe").evaluate((frame) => (frame.contentWindow.print = () => (window.printed = true)));
await page.locator("#print").click();
assert.equal(await page.evaluate(() => window.printed), true, "the sheet is printed, not the page");
const paper = await (await browser.newContext()).newPage();
await paper.setContent(await page.locator("#sheet iframe").getAttribute("srcdoc"));
for (const format of ["A4", "Letter"]) {
    const pdf = await paper.pdf({ format, preferCSSPageSize: false, path: `${pictures}/sheet-${format}.pdf` });
    assert.equal(pdf.toString("latin1").match(/\/Type\s*\/Page\b/g).length, 2, `pages of ${format}`);
}

// A fault to its cure: readings go in, and the cause and its cure come out.
await page.getByRole("tab", { name: "Fault-finding" }).click();
const reading = page.locator("#reading-slave_travel");
await reading.waitFor();
await reading.fill("9 mm");
await page.locator("#diagnosis section").waitFor();
await page.locator("#diagnosis h3", { hasText: /explains it/ }).waitFor();
await seen("What to measure next");
await shot("faults");

// After a reload it is all there again.
await page.reload();
await ready(page);
assert.match(await page.locator(".cm-content").innerText(), /system van/);

// The address holds it too, in another browser's storage.
await page.locator("#link").click();
await page.waitForFunction(() => location.hash.startsWith("#s="));
const other = await (await browser.newContext()).newPage();
await other.goto(page.url());
await ready(other);
assert.match(await other.locator(".cm-content").innerText(), /system van/);

// A kit out of files: its parts are found by the paths that it uses, and its choices are a form.
const examples = new URL("../../../examples/", import.meta.url).pathname;
const parts = readdirSync(`${examples}parts`).map((name) => `${examples}parts/${name}`);
await page.locator("#pick-files").setInputFiles([`${examples}kit.clutch`, `${examples}larkfield.clutch`, ...parts]);
await page.getByRole("tab", { name: "Choices" }).click();
await seen(/combinations work/);
const outcomes = new Set();
const select = page.locator(".choices select").first();
await select.locator("option").nth(1).waitFor({ state: "attached" });
const choices = await select.locator("option").evaluateAll((options) => options.map(({ value }) => value));
// Each choice says what comes of it.
const told = await page.locator(".choices option").allTextContents();
assert.ok(told.every((one) => /: (works|works, with a warning|does not work|does not fit)$/.test(one)), told.join());
assert.ok(choices.length > 1, "there is something to choose");
for (const choice of choices) {
    await page.locator(".choices select").first().selectOption(choice);
    await page.waitForFunction((choice) => Object.values(localStorage).some((kept) => Object.values(JSON.parse(kept).pick).includes(choice)), choice);
    await page.waitForTimeout(500);
    const words = await page.locator("#choices [role=status]").innerText();
    const said = await page.locator(".choices option:checked").first().innerText();
    assert.equal(words.includes("passes"), /: works/.test(said), `${said}, and ${words}`);
    outcomes.add(words);
}
await shot("choices");
await page.setViewportSize({ width: 390, height: 800 });
assert.ok(await page.evaluate(() => document.documentElement.scrollWidth) <= 390, "the choices on a phone");
await page.screenshot({ path: `${pictures}/phone-choices.png`, fullPage: true });
await page.locator(".choices select").first().selectOption(choices[0]);
await page.locator(".choices option:checked", { hasText: choices[0] }).first().waitFor({ state: "attached" });
await page.setViewportSize({ width: 1200, height: 800 });
assert.ok(outcomes.size > 0 && ![...outcomes].some((one) => one === ""), [...outcomes].join());

// Hostile text stays text.
await setText(`system van "<img src=x onerror=alert(1)>" { pedal { travel = 1 <script>alert(1)</script> } }\n`);
await page.getByRole("tab", { name: "Findings" }).click();
await page.locator("#findings li").first().waitFor();
assert.equal(await page.locator("#beside script, #beside img[src=x]").count(), 0);

// Accessible, and usable on a phone.
await setText(CAR);
await seen("short-release");
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
for (const name of ["Findings", "Drawing", "Choices", "Fault-finding", "Sheet"]) {
    await page.getByRole("tab", { name }).click();
    await page.waitForTimeout(600);
    await page.evaluate(axe);
    const { violations } = await page.evaluate(() => window.axe.run(document, { iframes: false }));
    const told = violations.map(({ id, nodes }) => `${id}: ${nodes.map((node) => node.html).slice(0, 3).join(" ")}`);
    assert.deepEqual(told, [], `axe on ${name}`);
}
await page.getByRole("tab", { name: "Findings" }).focus();
await page.keyboard.press("ArrowRight");
assert.equal(await page.locator("[role=tab][aria-selected=true]").innerText(), "Drawing");
await page.setViewportSize({ width: 390, height: 800 });
for (const name of ["Findings", "Fault-finding", "Drawing"]) {
    await page.getByRole("tab", { name }).click();
    await page.waitForTimeout(600);
    const wide = await page.evaluate(() => document.documentElement.scrollWidth);
    assert.ok(wide <= 390, `${name} is ${wide} pixels wide on a phone`);
    await page.screenshot({ path: `${pictures}/phone-${name.toLowerCase()}.png`, fullPage: true });
}

assert.deepEqual(wrong, []);
await browser.close();
console.log(`page: driven; pictures in ${pictures}`);
