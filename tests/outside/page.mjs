// The live bench in another browser: it starts, finds what the demo has, moves with a stick, and plays an example.
// PAGE is the built page, WANTED what is found in all.
import { execFileSync } from "node:child_process";
import { createRequire } from "node:module";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";

const global = execFileSync("npm", ["root", "--global"]).toString().trim();
const puppeteer = createRequire(join(global, "here.js"))("puppeteer-core");
const profile = mkdtempSync(join(tmpdir(), "page-"));
const browser = await puppeteer.launch({
    browser: "firefox", executablePath: "/usr/bin/firefox-esr", headless: true, userDataDir: profile,
    extraPrefsFirefox: { "app.normandy.enabled": false, "network.captive-portal-service.enabled": false, "network.connectivity-service.enabled": false },
});
try {
    const page = await browser.newPage();
    page.on("pageerror", (error) => { throw error; });
    await page.goto(pathToFileURL(process.env.PAGE).href);
    await page.waitForSelector("body[data-inspected='1']", { timeout: 60_000 });
    const said = await page.$eval("#said", (one) => one.textContent);
    if (!said.includes(process.env.WANTED)) throw new Error(`it says ${said}`);
    const sent = () => page.$$eval("#channels tbody tr", (all) => all.map((row) => row.querySelector("[data-what=sent]").textContent).join(" "));
    const before = await sent();
    const moved = page.waitForFunction((before) => [...document.querySelectorAll("#channels tbody tr")].map((row) => row.querySelector("[data-what=sent]").textContent).join(" ") !== before, {}, before);
    await page.focus("input[data-control=roll]");
    await page.keyboard.press("End");
    await moved;
    await page.select("#pair", await page.$$eval("#pair option", (all) => all.find((one) => one.textContent.startsWith("sanderling")).value));
    await page.waitForSelector("#findings [data-finding]");
    await page.click("#findings [data-finding]");
    await page.waitForSelector("#player:not([hidden])");
    console.log(said);
} finally {
    await browser.close();
    rmSync(profile, { recursive: true, force: true });
}
