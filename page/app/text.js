// The texts, with what is found at their lines.
import { byId, make, shapeOf } from "./signs.js";

const texts = new Map();
let openFile = null;
let marks = new Map();
let changed = () => {};
let left = 0;
// A text area shows every line end as one letter: what is typed in a file of the other kind is written as that.
let hasCarriageReturns = false;

/** Starts; `onChange` is told the name and the bytes of a text that was typed in. */
export function startText(onChange) {
    changed = onChange;
    const area = byId("text");
    area.addEventListener("input", () => {
        const bytes = new TextEncoder().encode(hasCarriageReturns ? area.value.replaceAll("\n", "\r\n") : area.value);
        texts.set(openFile, bytes);
        gutter();
        changed(openFile, bytes);
    });
    area.addEventListener("scroll", () => (byId("gutter").scrollTop = area.scrollTop));
    byId("file").addEventListener("change", ({ target }) => showFile(target.value));
    byId("save").addEventListener("click", () => {
        const link = make("a", { href: URL.createObjectURL(new Blob([texts.get(openFile)])), download: openFile.split("/").pop() });
        link.click();
        setTimeout(() => URL.revokeObjectURL(link.href), 1000);
    });
}

/** Takes other texts. */
export function takeTexts(all) {
    texts.clear();
    for (const [name, bytes] of [...all].sort(([one], [other]) => (one < other ? -1 : 1))) texts.set(name, bytes);
    byId("file").replaceChildren(...[...texts.keys()].map((name) => make("option", { value: name }, name)));
    marks = new Map();
    openFile = null;
    showFile(texts.keys().next().value);
}

/** Takes one more text. */
export function addText(name, bytes) {
    texts.set(name, bytes);
    byId("file").append(make("option", { value: name }, name));
}

export function showFile(name) {
    if (name === undefined || !texts.has(name) || name === openFile) return;
    openFile = name;
    byId("file").value = name;
    const area = byId("text");
    let text;
    try {
        text = new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(texts.get(name));
        area.readOnly = false;
    } catch {
        // What can't be shown as it is can't be typed in without losing it.
        text = new TextDecoder().decode(texts.get(name));
        area.readOnly = true;
    }
    hasCarriageReturns = text.includes("\r\n");
    area.value = text;
    area.scrollTop = 0;
    gutter();
}

/** Shows a line, with the caret in it. */
export function showLine(name, line) {
    showFile(name);
    byId("texts").open = true;
    const area = byId("text");
    const lines = area.value.split("\n");
    const start = lines.slice(0, line - 1).reduce((sum, text) => sum + text.length + 1, 0);
    area.focus();
    area.setSelectionRange(start, start + (lines[line - 1]?.length ?? 0));
    area.scrollTop = Math.max(0, (line - 5) * parseFloat(getComputedStyle(area).lineHeight));
}

/** Takes what is found, and marks its lines; `notShown` are so many more that are not told. */
export function takeMarks(findings, notShown) {
    left = notShown;
    marks = new Map();
    for (const finding of findings) {
        const file = marks.get(finding.place.file) ?? marks.set(finding.place.file, []).get(finding.place.file);
        file.push(finding);
    }
    for (const option of byId("file").options) {
        const count = marks.get(option.value)?.length ?? 0;
        option.textContent = count ? `${option.value} (${count})` : option.value;
    }
    gutter();
}

function gutter() {
    const here = marks.get(openFile) ?? [];
    const lines = byId("text").value.split("\n").length;
    const signs = new Map();
    for (const finding of here) if (!signs.has(finding.place.line)) signs.set(finding.place.line, shapeOf(finding.severity));
    let rows = "";
    for (let line = 1; line <= lines; line++) rows += `${signs.get(line) ?? " "}${String(line).padStart(4)}\n`;
    byId("gutter").textContent = rows;
    byId("gutter").scrollTop = byId("text").scrollTop;
    const items = here.map((finding) => {
        const place = make("button", { type: "button", class: "line", click: () => showLine(openFile, finding.place.line) }, `line ${finding.place.line}`);
        return make("li", {}, `${shapeOf(finding.severity)} `, make("b", {}, finding.severity), " ", place, ` ${finding.message} (${finding.rule})`);
    });
    if (left) items.push(make("li", {}, `${left} more are not shown, here or in other files: mend these first.`));
    byId("marks").replaceChildren(...(items.length ? items : [make("li", {}, "Nothing is found at a line of this file.")]));
}
