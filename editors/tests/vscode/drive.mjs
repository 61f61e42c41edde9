// Drives VS Code (code-server) with the packaged extension in a headless Chromium.
//
//   node drive.mjs EXTENSION.vsix PROGRAM WORKSPACE PICTURES [web]
//
// WORKSPACE is a copy of the project's examples and editors. What is on the screen, or in a file
// that was saved, is waited for. With `web`, the extension runs in the browser, as in an editor that is
// a web page and nothing else: its server is the module of WebAssembly, and the program is only what
// the answers are held against.
import { spawn, spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

const [extension, program, workspace, pictures, host] = process.argv.slice(2);
const inBrowser = host === "web";
const name = inBrowser ? "vscode-web" : "vscode";
const NOWHERE = "/nowhere/bitepoint";
const home = mkdtempSync(join(tmpdir(), "vscode-"));
const file = join(workspace, "editors/tests/desk.clutch");
const server = new URL("node_modules/code-server/out/node/entry.js", import.meta.url).pathname;
const folders = ["--user-data-dir", join(home, "data"), "--extensions-dir", join(home, "extensions")];
// Nothing is known of the outside, and nothing of this person's own settings.
const env = { PATH: process.env.PATH, HOME: home, LANG: "C.UTF-8" };

mkdirSync(join(home, "data/User"), { recursive: true });
mkdirSync(pictures, { recursive: true });
function settings(path) {
    const wanted = {
        "bitepoint.path": path,
        // An extension that has an entry for either would else run beside the files.
        ...(inBrowser && { "remote.extensionKind": { "bitepoint.bitepoint": ["web"] } }),
        "security.workspace.trust.enabled": false,
        "workbench.startupEditor": "none",
        "telemetry.telemetryLevel": "off",
        "update.mode": "none",
        "extensions.autoCheckUpdates": false,
        "chat.disableAIFeatures": true,
        "editor.minimap.enabled": false,
        "editor.fontFamily": "DejaVu Sans Mono",
        "files.autoSave": "off",
        "git.enabled": false,
        "workbench.secondarySideBar.defaultVisibility": "hidden",
    };
    writeFileSync(join(home, "data/User/settings.json"), JSON.stringify(wanted));
}

const installed = spawnSync(process.execPath, [server, "--install-extension", extension, ...folders], {
    env,
    encoding: "utf8",
});
if (installed.status !== 0) {
    throw new Error(`the extension cannot be installed: ${installed.stdout}${installed.stderr}`);
}

/** Starts the editor on a free port of this machine alone, and gives its address. */
async function start() {
    const options = ["--auth", "none", "--bind-addr", "127.0.0.1:0", "--disable-telemetry"];
    const more = ["--disable-update-check", "--disable-getting-started-override"];
    const child = spawn(process.execPath, [server, ...options, ...more, ...folders], {
        env,
        detached: true,
        stdio: ["ignore", "pipe", "inherit"],
    });
    const address = await new Promise((found, failed) => {
        let said = "";
        child.stdout.on("data", (data) => {
            said += data;
            const [, at] = /listening on (http:\S+?)\/?\s/.exec(said) ?? [];
            if (at !== undefined) {
                found(at);
            }
        });
        child.on("exit", () => failed(new Error(`code-server ended: ${said}`)));
    });
    return { address, stop: () => process.kill(-child.pid, "SIGKILL") };
}

const plain = (text) => text.replace(/\u00a0/g, " ").replace(/[\u200b\u200c]/g, "");

async function until(what, condition) {
    const end = Date.now() + 30_000;
    for (;;) {
        const value = await condition();
        if (value) {
            return value;
        }
        if (Date.now() > end) {
            throw new Error(`waited in vain for ${what}`);
        }
        await new Promise((resolve) => setTimeout(resolve, 20));
    }
}

/** Does something until what it leads to is there, with the patience of a person. */
const again = (what, locator, act) =>
    until(what, async () => {
        await act();
        return locator.first().waitFor({ timeout: 3_000 }).then(() => true, () => false);
    });

/** The texts of all that a selector finds, or nothing where it vanishes meanwhile. */
async function texts(page, selector) {
    return (await page.locator(selector).allInnerTexts().catch(() => [])).map(plain);
}

const sees = (page, selector, pattern) =>
    until(`${pattern} in ${selector}`, async () =>
        (await texts(page, selector)).some((text) => pattern.test(text)),
    );

const lines = ".editor-instance .view-line";

/** Runs a command by its name in the palette; one that asks something itself leaves the field there. */
async function command(page, title, asks = false) {
    await page.keyboard.press("F1");
    await page.locator(".quick-input-widget input").waitFor();
    await page.keyboard.type(title);
    await sees(page, ".quick-input-list .monaco-list-row.focused", new RegExp(title));
    await page.keyboard.press("Enter");
    if (!asks) {
        await page.locator(".quick-input-widget").waitFor({ state: "hidden" });
    }
}

async function goTo(page, line) {
    // A page beside the spec keeps the keys for a while.
    await again("the field for a line", page.locator(".quick-input-widget input"), async () => {
        await page.keyboard.press("Control+1");
        await page.keyboard.press("Control+g");
    });
    await page.keyboard.type(`${line}:1`);
    await page.keyboard.press("Enter");
    await sees(page, ".statusbar-item", new RegExp(`Ln ${line}, Col 1\\b`));
}

/** Saves, and waits until the file is as it should be. */
async function saved(page, what, wanted) {
    await page.keyboard.press("Control+s");
    await until(what, () => wanted(readFileSync(file, "utf8")));
}

async function openFile(page, address, path = "tests/desk.clutch", within = /system desk/) {
    await page.goto(`${address}/?folder=${encodeURIComponent(workspace)}`);
    await page.locator(".monaco-workbench .statusbar").waitFor();
    // The workbench takes keys only once it is all there.
    const list = page.locator(".quick-input-widget input");
    await again("the list of files", list, () => page.keyboard.press("Control+p"));
    await page.keyboard.type(path);
    const last = path.split("/").pop().replace(".", "\\.");
    await sees(page, ".quick-input-list .monaco-list-row.focused", new RegExp(last));
    await page.keyboard.press("Enter");
    await sees(page, lines, within);
}

/** Takes a picture that a page shows, with its words beside it. */
async function keep(what, page, words, clip) {
    await page.screenshot({ path: join(pictures, `readme-${what}.png`), clip });
    writeFileSync(join(pictures, `readme-${what}.txt`), `${words.map(plain).join("\n").trim()}\n`);
}

/** The pictures of the README, each with its words beside it, which `.ci/pictures` holds against those
 * that are committed: a spec with a finding beside its preview, and the first page of a sheet. */
async function readme(browser, address) {
    const page = await browser.newPage({ viewport: { width: 1640, height: 720 } });
    await openFile(page, address, "fails/short-release.clutch", /system customer_slave/);
    await page.locator(".squiggly-error").first().waitFor();
    await page.keyboard.press("Control+b");
    await command(page, "Bitepoint: Show Curves Beside");
    const frame = await previewFrame(page);
    const words = () => frame.locator("#verdict, #title, #findings").allInnerTexts();
    await until("the finding beside the curves", async () =>
        /short of the 7\.2 mm/.test((await words()).join()),
    );
    const lens = await page.locator(".codelens-decoration").allInnerTexts();
    await keep("editor", page, [...lens, ...(await words())]);
    await page.close();

    // The heading of a shop stands on its sheets.
    const sheet = join(home, "sheet.html");
    const settings = join(home, "shop.toml");
    writeFileSync(settings, '[shop]\nname = "Heron Yard Clutches"\ncontact = "555 0100, bench@example.com"\n');
    const made = ["--config", settings, "--output", sheet];
    spawnSync(program, ["sheet", "examples/larkfield.clutch", "larkfield", ...made], { env, cwd: workspace });
    const paper = await browser.newPage({ viewport: { width: 900, height: 1165 } });
    await paper.goto(`file://${sheet}`);
    await keep("sheet", paper, [await paper.locator("body").innerText()]);
    await paper.close();
}

async function findingAndHover(page) {
    await sees(page, lines, /slave hy_s25 }.*margin [-−]0\.33 mm/);
    await page.locator(".squiggly-error").first().waitFor();
    await page.keyboard.press("Control+Shift+m");
    // Columns from 1, of which the two pictures before the part take two each.
    await sees(page, ".markers-panel .monaco-list-row", /short of the 7\.2 mm.*\[Ln 4, Col 60\]/s);
    await page.screenshot({ path: join(pictures, `${name}-finding.png`) });
    await page.keyboard.press("Control+j");
    const part = page.locator(lines, { hasText: "system desk" }).locator("span span", { hasText: /^.?hy_s25/ });
    await part.first().hover();
    await sees(page, ".monaco-hover", /bore = 1 in/);
    await sees(page, ".monaco-hover", /short of the 7\.2 mm/);
    await page.screenshot({ path: join(pictures, `${name}-hover.png`) });
}

async function cure(page) {
    await goTo(page, 4);
    await page.keyboard.press("End");
    // Into the part's name, from behind ` }`.
    for (let i = 0; i < 4; i += 1) {
        await page.keyboard.press("ArrowLeft");
    }
    // A cursor that still moves would close the list again.
    await sees(page, ".statusbar-item", /Ln 4, Col 62\b/);
    await page.locator(".lightBulbWidget").first().waitFor();
    const offered = page.locator(".action-widget .monaco-list-row", { hasText: "use a 15/16 in slave" });
    // Now and then the list is seen not to open while the light bulb changes.
    await again("the cure", offered, () => page.keyboard.press("Control+."));
    await page.screenshot({ path: join(pictures, `${name}-cures.png`) });
    await offered.first().click();
    await sees(page, lines, /slave hy_s25 { bore = 15\/16 in } }/);
    await saved(page, "the cure", (text) =>
        text.includes("\nsystem desk \"Größe für später 🚗🔧\" from larkfield { slave hy_s25 { bore = 15/16 in } }\n"),
    );
}

async function completion(page) {
    await goTo(page, 8);
    await page.keyboard.press("End");
    await page.keyboard.press("Enter");
    // The list opens by itself, whichever letter comes first.
    const list = page.locator(".suggest-widget.visible");
    for (const letter of ["e", "f", "r"]) {
        await page.keyboard.type(letter);
        await list.first().waitFor({ timeout: 30_000 });
        await sees(page, ".suggest-widget.visible .monaco-list-row", new RegExp(`^\\W*${letter}`));
        if (letter !== "r") {
            await page.keyboard.press("Escape");
            await list.first().waitFor({ state: "hidden" });
            await page.keyboard.press("Backspace");
        }
    }
    await page.keyboard.type("eturn_for", { delay: 20 });
    await sees(page, lines, /^ +return_for$/);
    await sees(page, ".suggest-widget.visible .monaco-list-row.focused", /return_force/);
    await page.screenshot({ path: join(pictures, `${name}-completion.png`) });
    await page.keyboard.press("Enter");
    await sees(page, lines, /^ +return_force = *$/);
    await page.keyboard.type("12 N", { delay: 20 });
    await page.keyboard.press("Escape");
    await saved(page, "the completion", (text) => /\n +return_force = 12 N\n/.test(text));
}

async function formatting(page) {
    const before = readFileSync(file, "utf8");
    const wanted = spawnSync(program, ["fmt", "-"], { input: before, encoding: "utf8", env }).stdout;
    if (wanted === before) {
        throw new Error("there is nothing to format");
    }
    await command(page, "Format Document");
    await sees(page, lines, /^ {8}return_force = 12 N/);
    await saved(page, "the formatting", (text) => text === wanted);
}

async function previewFrame(page) {
    return until("the preview", async () => {
        for (const frame of page.frames()) {
            if ((await frame.locator("#drawing > svg").count().catch(() => 0)) > 0) {
                return frame;
            }
        }
        return undefined;
    });
}

/** What the command line says of full pedal with a slave of this bore, in four digits. */
function fingerTravel(bore) {
    // Beside the examples: a spec uses nothing outside its project.
    const spec = join(workspace, "as-typed.clutch");
    writeFileSync(
        spec,
        `use "examples/larkfield.clutch"\nsystem desk from larkfield { slave hy_s25 { bore = ${bore} in } }\n`,
    );
    const { stdout } = spawnSync(program, ["calc", spec, "desk", "--curve"], { encoding: "utf8", env });
    const rows = stdout.trim().split("\n").map((row) => row.split(","));
    const travel = rows.at(-1)[rows[0].indexOf("finger_travel_mm")];
    return Number(Number(travel).toPrecision(4)).toString();
}

async function preview(page) {
    await goTo(page, 5);
    await command(page, "Bitepoint: Show Curves Beside");
    const frame = await previewFrame(page);
    const drawing = () => frame.locator("#drawing > svg").evaluate((svg) => svg.outerHTML);
    const values = () => frame.locator("#values").innerText();
    await until("the title", async () => (await frame.locator("#title").innerText()).startsWith("desk"));
    await page.screenshot({ path: join(pictures, `${name}-preview.png`) });
    // Each of these is a change while one types; nothing is saved. What is half typed draws
    // something too, so each is known by the travel of its fingers.
    for (const bore of ["7/8", "3/4", "1"]) {
        const travel = fingerTravel(bore);
        const before = await drawing();
        await page.locator(lines, { hasText: "bore =" }).click();
        await page.keyboard.press("Home");
        await page.keyboard.press("Shift+End");
        await page.keyboard.type(`slave hy_s25 { bore = ${bore} in`, { delay: 20 });
        const shown = new RegExp(`finger travel\\s+${travel}\\s+mm`);
        await until(`a finger travel of ${travel} mm`, async () => shown.test(await values()));
        await until(`a new drawing for ${bore} in`, async () => (await drawing()) !== before);
    }
    await page.screenshot({ path: join(pictures, `${name}-preview-typed.png`) });
    // The system that the cursor stands in.
    await page.locator(lines, { hasText: "pedal" }).first().click();
    await until("the other system", async () => (await frame.locator("#title").innerText()).startsWith("bench"));
}

/** Keys that come quicker than the server answers all arrive, in their order. */
async function typing(page) {
    const before = readFileSync(file, "utf8");
    const typed = `# ${"the quick brown fox jumps over the lazy dog, ".repeat(8)}at last`;
    await page.locator(lines).first().click();
    await page.keyboard.press("Control+End");
    await page.keyboard.type(`\n${typed}\nlet quick = 12 furlongs`);
    await page.keyboard.press("Escape");
    await sees(page, lines, /^let quick = 12 furlongs/);
    await saved(page, "what was typed", (text) => text === `${before}\n${typed}\nlet quick = 12 furlongs`);
    // What is found in it is found: the server has kept up.
    await page.keyboard.press("Control+Shift+m");
    await sees(page, ".markers-panel .monaco-list-row", /furlongs/);
    await page.screenshot({ path: join(pictures, `${name}-typed.png`) });
    await page.keyboard.press("Control+j");
}

/** The frame in which a page beside the spec says something. */
const frameThatSays = (page, pattern) =>
    until(`${pattern} in a page beside the spec`, async () => {
        for (const frame of page.frames()) {
            const said = await frame.locator("body").innerText({ timeout: 1_000 }).catch(() => "");
            if (pattern.test(plain(said))) {
                return frame;
            }
        }
        return undefined;
    });

/** Every command that asks the program, by its name in the palette, and what its answer shows. */
async function commands(browser, address) {
    page = await browser.newPage({ viewport: { width: 1500, height: 850 } });
    await openFile(page, address, "examples/larkfield.clutch", /system larkfield/);
    const heads = readFileSync(join(workspace, "examples/larkfield.clutch"), "utf8").split("\n");
    const line = heads.findIndex((text) => text.startsWith("system larkfield ")) + 1;
    const asks = async (title, more) => {
        await goTo(page, line);
        await command(page, `Bitepoint: ${title}`, more);
    };
    const shot = (what) => page.screenshot({ path: join(pictures, `${name}-command-${what}.png`) });

    // A word of a hover leads to what it means; the command asks for one.
    await goTo(page, heads.findIndex((text) => /^ +fork \{/.test(text)) + 1);
    const fork = page.locator(lines, { hasText: /^\s*fork\s/ }).first();
    const told = page.locator(".monaco-hover:visible", { hasText: /In\sthe\strade:/ }).first();
    // A hover closes when the pointer leaves it, and on a busy machine before the pointer is there: then anew.
    await again("the explanation", page.locator(lines, { hasText: /word\sof\sthe\strade/ }), async () => {
        if (!(await told.isVisible())) {
            await page.mouse.move(0, 0);
            await fork.locator("span span", { hasText: /^\s*fork/ }).first().hover();
            await told.waitFor({ timeout: 5_000 }).catch(() => undefined);
        }
        await told.hover({ timeout: 2_000 }).catch(() => undefined);
        await page.mouse.wheel(0, 600);
        await told.locator("a", { hasText: /^clutch fork$/ }).first().click({ timeout: 2_000 }).catch(() => undefined);
    });
    await sees(page, lines, /^clutch fork \(word of the trade\)/);
    await shot("explain-link");
    await asks("Explain…", true);
    await sees(page, ".quick-input-widget", /a word of the trade/);
    await page.keyboard.type("drag");
    await page.keyboard.press("Enter");
    await sees(page, lines, /^drag \(word of the trade\)/);

    await asks("Find Sizes");
    await sees(page, lines, /combinations/);
    await shot("sizes");
    await asks("Bill of Materials");
    await frameThatSays(page, /hy_s22(.|\n)*hy_228/);
    await shot("bill");
    await asks("Find the Fault");
    await frameThatSays(page, /slave.travel/i);
    await shot("fault");
    await asks("Open Fitting Sheet");
    await frameThatSays(page, /Cut and set(.|\n)*Check it on the car/i);
    await shot("sheet");

    // The spec as it was committed, and a slave that is changed since, unsaved.
    const compares = inBrowser ? "Compare with Saved" : "Compare with Last Commit";
    const git = (...args) =>
        spawnSync("git", ["-c", "user.name=Test", "-c", "user.email=test@example.com", ...args], { cwd: workspace, env });
    for (const args of [["init", "-q"], ["add", "-A"], ["commit", "-q", "-m", "as it was"]]) {
        const done = git(...args);
        if (done.status !== 0) {
            throw new Error(`git ${args[0]}: ${done.stderr}`);
        }
    }
    const part = heads.findIndex((text) => /^ +slave hy_s22\b/.test(text));
    await goTo(page, part + 1);
    await page.keyboard.press("End");
    for (const key of ["ArrowLeft", "ArrowLeft", "Backspace", "Backspace", "2", "5", "Escape"]) {
        await page.keyboard.press(key);
    }
    await sees(page, lines, /^ +slave hy_s25 \{/);
    await asks(compares);
    await frameThatSays(page, /hy_s25(.|\n)*release.margin/i);
    await shot("compare");

    if (inBrowser) {
        // What needs the program is not offered.
        await goTo(page, line);
        await page.keyboard.press("F1");
        await page.locator(".quick-input-widget input").waitFor();
        await page.keyboard.type("Bitepoint: ");
        const rows = ".quick-input-list .monaco-list-row";
        await sees(page, rows, /Compare with Saved/);
        const offered = (await texts(page, rows)).join("\n");
        if (/Last Commit|New Spec|Restart|Install/.test(offered)) {
            throw new Error(`offered in a browser: ${offered}`);
        }
        await page.close();
        return;
    }
    await asks("New Spec…", true);
    const pick = async (title, choice) => {
        await sees(page, ".quick-input-widget", title);
        await page.keyboard.type(choice);
        await sees(page, ".quick-input-list .monaco-list-row.focused", new RegExp(choice));
        await page.keyboard.press("Enter");
    };
    await pick(/How is the clutch worked/, "hydraulic");
    await pick(/What do you measure in/, "Inches");
    await sees(page, lines, /^ *travel += [\d.\/ ]+ in\b/);
    await shot("new");
    await page.close();
}

/** The picture of the page on fault-finding, the walk of one call: what the first two visits find, and the table of
 * the second. */
async function faultFinding(browser, address) {
    const page = await browser.newPage({ viewport: { width: 1500, height: 1000 } });
    await openFile(page, address, "drags-as-measured.clutch", /measured first_call/);
    await page.locator(".squiggly-error").nth(1).waitFor();
    if (await page.locator(".part.sidebar").isVisible()) {
        await page.keyboard.press("Control+b");
    }
    await page.keyboard.press("Control+Shift+m");
    await page.getByPlaceholder(/^Filter/).fill("drags-as-measured");
    await sees(page, ".markers-panel .monaco-list-row", /the clutch drags as measured: .*\[Ln 13, Col 25\]/s);
    const second = page.locator(lines, { hasText: "measured called_back" });
    await second.locator("span span", { hasText: /measured/ }).first().hover();
    await sees(page, ".monaco-hover", /The clutch drags as measured.*master travel\s*0\.9 in.*agrees/s);
    // Down to the table.
    const hover = page.locator(".monaco-hover:visible").first();
    await hover.hover();
    await page.mouse.wheel(0, 210);
    // After bleeding there is nothing to find any more.
    const rows = await texts(page, ".markers-panel .monaco-list-row");
    if (rows.some((row) => /\[Ln (19|2[0-9])\b/.test(row))) {
        throw new Error(`the last visit is found fault with: ${rows}`);
    }
    await keep("fault-finding", page, [await hover.innerText()]);
    await page.close();
}

/** Without the program: a message, and a way out in the status bar. */
async function missing(page, address) {
    await openFile(page, address);
    await sees(page, ".statusbar-item", /Bitepoint does not run/);
    await sees(page, ".notification-toast", /cargo install/);
    await page.screenshot({ path: join(pictures, `${name}-missing.png`) });
}

const browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    args: ["--no-sandbox", "--disable-dev-shm-usage"],
});
let editor;
let page;
let status = 0;
const began = Date.now();
try {
    settings(inBrowser ? NOWHERE : program);
    editor = await start();
    if (!inBrowser) {
        await readme(browser, editor.address);
        await faultFinding(browser, editor.address);
        console.log(`${name}: the pictures of the pages taken`);
    }
    page = await browser.newPage({ viewport: { width: 1500, height: 850 } });
    await openFile(page, editor.address);
    for (const step of [findingAndHover, cure, completion, formatting, typing, preview]) {
        await step(page);
        console.log(`${name}: ${step.name} seen after ${((Date.now() - began) / 1000).toFixed(1)} s`);
    }
    await page.close();
    page = undefined;
    await commands(browser, editor.address);
    console.log(`${name}: commands seen after ${((Date.now() - began) / 1000).toFixed(1)} s`);
    if (!inBrowser) {
        editor.stop();
        settings(NOWHERE);
        editor = await start();
        page = await browser.newPage({ viewport: { width: 1500, height: 850 } });
        await missing(page, editor.address);
    }
    console.log(`${name}: seen`);
} catch (error) {
    status = 1;
    console.error(`${name}: ${error.stack}`);
    await page?.screenshot({ path: join(pictures, `${name}-failed.png`) }).catch(() => {});
} finally {
    await browser.close();
    editor?.stop();
    rmSync(home, { recursive: true, force: true });
}
process.exit(status);
