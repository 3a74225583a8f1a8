// A real handset that the computer sees as a game controller: its axes are assigned to sticks by moving them.
import { byId, make } from "./signs.js";

const KEY = "walkaround-axes";
let assigned = [];
let learning = null;
let moved = () => {};
let last = new Map();

export function startPad(onMove) {
    moved = onMove;
    byId("pad-learn").addEventListener("click", learn);
    byId("pad-forget").addEventListener("click", () => {
        assigned = [];
        keep();
        tell("Nothing is assigned.");
    });
    try {
        assigned = JSON.parse(localStorage.getItem(KEY) ?? "[]");
    } catch {
        assigned = [];
    }
    addEventListener("gamepadconnected", ({ gamepad }) => {
        tell(`${gamepad.axes.length} axes are there: ${gamepad.id}`);
        requestAnimationFrame(look);
    });
}

/** Takes the controls of a description that axes can be assigned to. */
export function takeAxes(bench) {
    const axes = bench.controls.filter((control) => control.kind === "stick" || control.kind === "axis");
    byId("pad-axis").replaceChildren(...axes.map((control) => make("option", { value: control.name }, control.called ?? control.name)));
    last = new Map();
}

const tell = (text) => (byId("pad-said").textContent = text);
const pads = () => [...navigator.getGamepads()].filter(Boolean);
const keep = () => {
    // A page from disk may be refused a place to keep things.
    try {
        localStorage.setItem(KEY, JSON.stringify(assigned));
    } catch {
        /* It is assigned for this visit only. */
    }
};

function learn() {
    if (!pads().length) return tell("No game controller is there yet: plug it in and move a stick.");
    learning = { control: byId("pad-axis").value, rest: pads().map((pad) => [...pad.axes]) };
    tell(`Move the stick for ${learning.control} to its right or upper end.`);
}

function look() {
    const found = pads();
    if (!found.length) return;
    found.forEach((pad, at) => pad.axes.forEach((value, axis) => {
        if (learning && Math.abs(value - (learning.rest[at]?.[axis] ?? 0)) > 0.5) {
            const { control } = learning;
            assigned = assigned.filter((known) => known.control !== control);
            assigned.push({ control, pad: pad.id, axis, sign: Math.sign(value - learning.rest[at][axis]) });
            learning = null;
            keep();
            tell(`${control} is axis ${axis + 1}.`);
        }
        for (const known of assigned.filter((known) => known.pad === pad.id && known.axis === axis)) {
            const percent = Math.max(-100, Math.min(100, Math.round(value * known.sign * 100)));
            if (Math.abs((last.get(known.control) ?? 0) - percent) >= 1) {
                last.set(known.control, percent);
                moved(known.control, String(percent));
            }
        }
    }));
    requestAnimationFrame(look);
}
