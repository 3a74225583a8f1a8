"""The live bench in a real browser: every check is one function, named on the command line.

PROGRAM is the binary, PAGE the built page, FLEETS the folder of the fleets, SCRATCH a folder to write to.
"""

import concurrent.futures
import datetime
import json
import os
import pathlib
import random
import re
import statistics
import subprocess
import sys
import time
import zipfile

from playwright.sync_api import sync_playwright

PROGRAM, PAGE = os.environ["PROGRAM"], pathlib.Path(os.environ["PAGE"])
FLEETS, SCRATCH = pathlib.Path(os.environ["FLEETS"]), pathlib.Path(os.environ["SCRATCH"])
FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--disable-sync"]
TODAY = datetime.date.today().isoformat()

# Moves one control as its element says, and gives it time to be answered; then reads what stands on the screen.
MOVE = """async (moves) => {
  const settled = () => document.body.dataset.settled;
  for (const [name, value, kind] of moves) {
    const before = settled();
    const all = [...document.querySelectorAll("[data-control]")].filter((one) => one.dataset.control === name);
    if (kind === "axis") { all[0].value = value; all[0].dispatchEvent(new Event("input", { bubbles: true })); }
    else if (kind === "button") all[0].click();
    else all.find((one) => one.value === value).click();
    for (let turn = 0; settled() === before; turn++) {
      if (turn > 5000) throw new Error(`${name} ${value} is not answered`);
      await new Promise((done) => setTimeout(done, 1));
    }
  }
  const rows = [...document.querySelectorAll("#channels tbody tr")].map((row) => [Number(row.dataset.channel), row.querySelector("[data-what=sent]").textContent, row.querySelector("[data-what=received]").textContent]);
  return { rows, modes: [...document.querySelectorAll("#modes li")].map((row) => row.textContent), set: JSON.parse(document.getElementById("path").dataset.path).set, said: document.getElementById("said").textContent };
}"""

CONTROLS = """() => {
  const found = new Map();
  for (const one of document.querySelectorAll("[data-control]")) {
    const kind = one.type === "range" ? "axis" : one.type === "radio" ? "switch" : "button";
    const known = found.get(one.dataset.control) ?? found.set(one.dataset.control, { kind, values: [], most: Number(one.max) }).get(one.dataset.control);
    if (kind === "switch") known.values.push(one.value);
  }
  return [...found];
}"""


def launch(playwright):
    return playwright.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)


def opened(browser, folder=None, **options):
    """A page, with a folder opened in it; whatever goes wrong in it ends the check."""
    page = browser.new_context(**options).new_page()
    page.on("pageerror", lambda error: sys.exit(f"the page fails: {error}"))
    page.goto(PAGE.as_uri())
    page.wait_for_selector("body[data-inspected='1']", timeout=30_000)
    if folder:
        page.set_input_files("#folder-input", str(folder))
        page.wait_for_selector("body[data-inspected='2']", timeout=60_000)
    return page


def settled(page, act):
    """Does something, and waits until the page has answered it."""
    before = page.evaluate("() => document.body.dataset.settled")
    act()
    page.wait_for_selector(f"body:not([data-settled='{before}'])", timeout=30_000)


def binary(*arguments, cwd=None):
    done = subprocess.run([PROGRAM, *arguments], cwd=cwd, capture_output=True, text=True)
    assert done.stdout, f"{arguments}: {done.stderr}"
    return json.loads(done.stdout)


def channels():
    """Every channel and mode as `trace` has them, for 200 positions by chance of each of 6 aircraft."""
    chance = random.Random(20261129)
    folder = FLEETS / "kinds"
    compared = 0
    with sync_playwright() as playwright, concurrent.futures.ThreadPoolExecutor(2) as pool:
        page = opened(launch(playwright), folder)
        page.uncheck("#springs")
        pairs = [json.loads(text) for text in page.eval_on_selector_all("#pair option", "all => all.map((one) => one.value)")]
        for pair in pairs[:: len(pairs) // 6][:6]:
            settled(page, lambda: page.select_option("#pair", json.dumps(pair, separators=(",", ":"), ensure_ascii=False)))
            controls = page.evaluate(CONTROLS)
            wanted = []
            for position in range(200):
                if position % 20 == 0:
                    settled(page, lambda: page.click("#reset"))
                    moved, pressed = [], set()
                moves = []
                for name, control in chance.sample(controls, min(len(controls), chance.randint(1, 3))):
                    if control["kind"] == "axis":
                        value = str(chance.randint(-int(control["most"]), int(control["most"])))
                    elif control["kind"] == "switch":
                        value = chance.choice(control["values"])
                    else:
                        pressed ^= {name}
                        value = "pressed" if name in pressed else "released"
                    # A radio button that is chosen already makes no movement.
                    latest = [put for put in moved + moves if put[0] == name]
                    if control["kind"] == "switch" and (latest[-1][1] == value if latest else page.evaluate("([name, value]) => [...document.querySelectorAll('[data-control]')].find((one) => one.dataset.control === name && one.value === value).checked", [name, value])):
                        continue
                    moves.append((name, value, control["kind"]))
                shown = page.evaluate(MOVE, moves)
                moved += moves
                arguments = [f"--set={text}" for text in shown["set"]] + [f'--then="{name}"={value}' for name, value, _ in moved]
                # Without any, the table of all positions would be printed.
                arguments = arguments or ["--then=wait 0 s"]
                trace = ["trace", pair["model"], "--craft", pair["craft"], "--in", str(folder), "--as", "json", *arguments]
                wanted.append((shown, pool.submit(binary, *trace)))
            for shown, traced in wanted:
                traced = traced.result()
                rows = [[one["channel"], f"{one['pulse_us']:.1f}", "nothing" if one["carried_us"] is None else f"{one['carried_us']:.1f}"] for one in traced["channels"]]
                assert rows == shown["rows"], f"{pair}: {shown} is traced as {rows}"
                on = {name for name, is_on in traced["modes"].items() if is_on}
                assert on == {match[1] for text in shown["modes"] if (match := re.match("\u25a0 (.*): on$", text))}, f"{pair}: {shown}"
                compared += len(rows)
    print(f"{compared} channels compared")
    assert compared > 6 * 200 * 3


def found_in(page):
    """Everything that the page shows as found at lines of files."""
    found = []
    for name in page.eval_on_selector_all("#file option", "all => all.map((one) => one.value)"):
        page.select_option("#file", name)
        for text in page.eval_on_selector_all("#marks li", "all => all.map((one) => one.textContent)"):
            if match := re.match(r"\S (\w+) line (\d+) (.*) \(([\w/-]+)\)$", text, re.S):
                found.append((name, int(match[2]), match[4], match[1], match[3]))
    return sorted(found)


def findings():
    """The findings of every fleet are those of the binary, opened as a folder, and as an archive."""
    with sync_playwright() as playwright:
        browser = launch(playwright)
        total = 0
        for folder in sorted(path for path in FLEETS.iterdir() if path.is_dir()):
            page = opened(browser, folder)
            report = binary("inspect", ".", "--as", "json", "--today", TODAY, cwd=folder)
            wanted = sorted((one["place"]["file"], one["place"]["line"], one["rule"], one["severity"], one["message"]) for one in report["findings"])
            assert found_in(page) == wanted, f"{folder}: {set(found_in(page)) ^ set(wanted)}"
            total += len(wanted)
            page.context.close()
        print(f"{total} findings compared")
        assert total > 10
        page = opened(browser)
        archive = SCRATCH / "hurried.zip"
        with zipfile.ZipFile(archive, "w") as out:
            for number, path in enumerate(sorted((FLEETS / "hurried").iterdir())):
                out.write(path, f"backup/{path.name}", zipfile.ZIP_DEFLATED if number % 2 else zipfile.ZIP_STORED)
        # The demo is the same fleet.
        demo = found_in(page)
        page.set_input_files("#files-input", str(archive))
        page.wait_for_selector("body[data-inspected='2']")
        assert demo and found_in(page) == demo


def main():
    for name in sys.argv[1:]:
        {"channels": channels, "findings": findings}[name]()


if __name__ == "__main__":
    main()
