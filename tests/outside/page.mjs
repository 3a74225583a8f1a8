// The live bench in another browser, with as many of the checks of page.py as its protocol can do: every check is one function, named on
// the command line. Not done here: `channels` (what is worked out is the same core, and 1,200 positions take minutes over this protocol),
// `known`, `written` and `flood` (a folder is opened without the names of the folders in it, and what is told is the core's again), what
// is downloaded, dark colours and zoom (the protocol has no words for them), `figures`. PROGRAM is the binary, PAGE the built page, FLEETS the folder of the fleets.
import { execFileSync, spawnSync } from "node:child_process";
import { createRequire } from "node:module";
import { mkdtempSync, readFileSync, readdirSync, rmSync, statSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";

const { PROGRAM, PAGE, FLEETS } = process.env;
const global = execFileSync("npm", ["root", "--global"]).toString().trim();
const require = createRequire(join(global, "here.js"));
const profile = mkdtempSync(join(tmpdir(), "page-"));
const browser = await require("puppeteer-core").launch({
    browser: "firefox", executablePath: "/usr/bin/firefox-esr", headless: true, userDataDir: profile,
    extraPrefsFirefox: { "app.normandy.enabled": false, "network.captive-portal-service.enabled": false, "network.connectivity-service.enabled": false },
});
const today = new Date().toLocaleDateString("sv");

const assert = (is, words) => {
    if (!is) throw new Error(words);
};
const program = (cwd, ...words) => JSON.parse(spawnSync(PROGRAM, words, { cwd, maxBuffer: 1 << 28 }).stdout.toString());
const textOf = (page, selector) => page.$eval(selector, (one) => one.textContent);

/** Does something, and waits until what the body tells is other than before. */
async function after(page, what, act) {
    const before = await page.$eval("body", (body, what) => body.dataset[what] ?? "", what);
    await act();
    await page.waitForFunction((what, before) => (document.body.dataset[what] ?? "") !== before, { timeout: 60_000 }, what, before);
}

async function opened(prepare = async () => {}) {
    const page = await browser.newPage();
    // What the policy refuses is told as an error of the page here.
    page.on("pageerror", (error) => {
        if (!error.message.startsWith("Content-Security-Policy")) throw error;
    });
    await prepare(page);
    await page.goto(pathToFileURL(PAGE).href);
    await page.waitForSelector("body[data-inspected='1']", { timeout: 60_000 });
    return page;
}

async function choose(page, name) {
    const value = await page.$$eval("#pair option", (all, name) => all.find((one) => one.textContent.startsWith(name)).value, name);
    await after(page, "settled", () => page.select("#pair", value));
}

/** The findings of every fleet are those of the program. */
async function findings() {
    const page = await opened();
    let total = 0;
    for (const fleet of readdirSync(FLEETS).filter((name) => statSync(join(FLEETS, name)).isDirectory())) {
        const folder = join(FLEETS, fleet);
        const files = readdirSync(folder).filter((name) => /(\.rig|\.rig\.json|walkaround\.toml)$/.test(name));
        const input = await page.$("#files-input");
        await after(page, "inspected", () => input.uploadFile(...files.map((name) => join(folder, name))));
        const found = [];
        for (const name of await page.$$eval("#file option", (all) => all.map((one) => one.value))) {
            await page.select("#file", name);
            for (const text of await page.$$eval("#marks li", (all) => all.map((one) => one.textContent))) {
                const match = /^\S (\w+) line (\d+) ([^]*) \(([\w/-]+)\)$/.exec(text);
                if (match) found.push([name, Number(match[2]), match[4], match[1], match[3]].join("|"));
            }
        }
        const report = program(folder, "inspect", ".", "--as", "json", "--today", today);
        const wanted = report.findings.map((one) => [one.place.file, one.place.line, one.rule, one.severity, one.message].join("|"));
        assert(found.sort().join("\n") === wanted.sort().join("\n"), `${fleet}: ${found.join("\n")} and ${wanted.join("\n")}`);
        total += found.length;
    }
    console.log(`${total} findings compared`);
    assert(total > 10, "too few findings");
}

/** A mistake that is typed is found, and goes when it is mended. */
async function mistake() {
    const page = await opened();
    const type = (from, to) => after(page, "inspected", () => page.$eval("#text", (area, from, to) => {
        area.value = area.value.replace(from, to);
        area.dispatchEvent(new Event("input", { bubbles: true }));
    }, from, to));
    await page.select("#file", "knot.rig");
    await type("kind ", "kidn ");
    assert((await textOf(page, "#marks")).includes("kidn") && (await textOf(page, "#said")).includes("1 fault"), await textOf(page, "#said"));
    await type("kidn ", "kind ");
    assert(!(await textOf(page, "#said")).includes("fault"), await textOf(page, "#said"));
}

/** A key moves a stick, an example plays to its end and shows what the program shows, a question is answered, the link is lost. */
async function played() {
    const page = await opened();
    const sent = () => page.$$eval("#channels tbody tr", (all) => all.map((row) => [row.dataset.channel, row.querySelector("[data-what=sent]").textContent].join(" ")).join());
    const before = await sent();
    await page.focus("input[data-control=roll]");
    await after(page, "settled", () => page.keyboard.press("End"));
    assert((await sent()) !== before, "a key moves no stick");
    await choose(page, "sanderling");
    const number = await page.$eval("#findings [data-finding]", (one) => Number(one.dataset.finding));
    await after(page, "settled", () => page.click("#findings [data-finding]"));
    while (await page.$eval("#player-next", (one) => !one.disabled)) await after(page, "settled", () => page.click("#player-next"));
    const { witness } = program(join(FLEETS, "hurried"), "inspect", ".", "--as", "json", "--today", today).findings[number];
    const wanted = witness.channels.map((one) => `${one.channel} ${one.pulse_us.toFixed(1)}`);
    assert((await sent()).split(",").sort().join() === wanted.sort().join(), `${await sent()} and ${wanted}`);
    await choose(page, "dunlin");
    await page.$eval("#condition", (one) => (one.value = "mode arm and throttle above 0 %"));
    await page.click("#ask button");
    await page.waitForSelector("#answer p");
    assert((await textOf(page, "#answer")).startsWith("Yes: "), await textOf(page, "#answer"));
    const received = await textOf(page, "#channels");
    await page.click("#lose");
    assert((await textOf(page, "#channels")) !== received && (await textOf(page, "#lost")), "nothing is lost");
}

/** A game controller moves the stick that its axis was assigned to. */
async function controller() {
    const page = await opened((page) => page.evaluateOnNewDocument(() => {
        window.pad = { id: "a pad", index: 0, axes: [0, 0] };
        navigator.getGamepads = () => [window.pad];
    }));
    await page.evaluate(() => {
        const here = new Event("gamepadconnected");
        here.gamepad = window.pad;
        dispatchEvent(here);
        document.querySelectorAll("details").forEach((one) => (one.open = true));
    });
    await page.select("#pad-axis", "roll");
    await page.click("#pad-learn");
    await page.evaluate(() => (window.pad.axes[1] = -0.8));
    await page.waitForFunction(() => document.querySelector("input[data-control=roll]").value === "80");
}

/** Nothing is asked of any network. */
async function quiet() {
    const asked = [];
    const page = await opened(async (page) => page.on("request", (request) => asked.push(request.url())));
    await page.click("#lose");
    const tried = await page.evaluate(() => fetch("https://example.invalid/").catch((error) => error.name));
    const away = asked.filter((url) => !/^(blob|data|file):/.test(url) && !url.startsWith("https://example.invalid/"));
    assert(asked.length && !away.length && tried === "TypeError", `${away} ${tried}`);
}

/** Nothing serious by axe, wide and narrow. */
async function access() {
    for (const width of [1280, 360]) {
        const page = await opened((page) => page.setViewport({ width, height: 800 }));
        await page.evaluate(() => document.querySelectorAll("details").forEach((one) => (one.open = true)));
        await page.click("#lose");
        const wide = await page.evaluate(() => document.documentElement.scrollWidth);
        assert(wide <= width, `${wide} at ${width}`);
        await page.evaluate(readFileSync(join(global, "axe-core/axe.min.js"), "utf8"));
        const found = await page.evaluate(async () => (await window.axe.run()).violations.map((one) => `${one.impact} ${one.id} ${one.nodes[0].html}`));
        assert(!found.some((one) => /^(serious|critical|moderate)/.test(one)), found.join("\n"));
    }
}

/** Printed, the page shows the aircraft with its caution. */
async function printed() {
    const page = await opened();
    const paper = join(profile, "page.pdf");
    writeFileSync(paper, await page.pdf({ format: "A4" }));
    const text = execFileSync("pdftotext", ["-layout", paper, "-"]).toString().normalize("NFKC");
    for (const words of ["Propellers off", "Channels", "1499.7"]) assert(text.includes(words), text);
    assert(!text.includes("Open a folder"), text);
}

const checks = { findings, mistake, played, controller, quiet, access, printed };
try {
    for (const name of process.argv.slice(2)) await checks[name]();
} finally {
    await browser.close();
    rmSync(profile, { recursive: true, force: true });
}
