// The handset: its sticks, switches, buttons and knobs, as the core says that it has them.
import { byId, draw, make } from "./signs.js";

// By name: what shows a control, and takes where it stands.
let shows = new Map();
let springing = () => byId("springs").checked;

/** Draws the handset of a description; `move` is told the name of a control and the word of its new place. */
export function drawHandset(bench, move) {
    shows = new Map();
    const kind = (...kinds) => bench.controls.filter((control) => kinds.includes(control.kind));
    const sticks = kind("stick");
    const parts = [];
    const sides = sticks.length && sticks.every((stick) => stick.side);
    const groups = sides ? ["left", "right"].map((side) => sticks.filter((stick) => stick.side === side)) : [sticks];
    parts.push(make("div", { class: "sticks" }, ...groups.map((group, at) => stickGroup(group, sides ? ["left", "right"][at] : null, move))));
    if (!sides && bench.grip === "sticks") parts.push(make("p", { class: "small" }, "Which function is on which stick is not stated (stick-mode)."));
    const others = kind("switch", "button", "axis", "reported").map((control) => place(control, move));
    parts.push(make("div", { class: "places" }, ...others));
    const trims = sticks.filter((stick) => stick.trim).map((stick) => slider(stick, move, true));
    if (trims.length) parts.push(make("details", {}, make("summary", {}, "Trims"), ...trims));
    byId("handset").replaceChildren(...parts);
}

/** Shows where everything stands. */
export function showPlaces(bench, play) {
    bench.controls.forEach((control, at) => {
        shows.get(control.name)?.forEach((show) => show(play.places[at]));
        shows.get(control.name + " trim")?.forEach((show) => show(play.trims[at]));
    });
}

const shown = (name, show) => (shows.get(name) ?? shows.set(name, []).get(name)).push(show);
// A number of percent as a movement takes it.
const percent = (value) => String(Math.round(value * 10) / 10);

function slider(control, move, isTrim = false) {
    const name = isTrim ? `${control.name} trim` : control.name;
    const most = isTrim ? control.trim : 100;
    const [low, high] = control.ends ?? ["low", "high"];
    const output = make("output", {}, "");
    const id = `control-${control.kind}-${isTrim}-${shows.size}`;
    const input = make("input", {
        type: "range", min: -most, max: most, step: isTrim ? 0.5 : 1, id, "data-control": name,
        "aria-label": isTrim ? name : `${control.called ?? name}: ${low} to ${high}`,
        input: ({ target }) => move(name, target.value),
        pointerup: () => letGo(control, isTrim, move),
    });
    shown(name, (at) => {
        if (Number(input.value) !== at) input.value = at;
        output.textContent = `${percent(at)} %`;
        input.setAttribute("aria-valuetext", `${percent(at)} percent`);
    });
    return make("div", { class: "axis" }, make("label", { for: id }, output, `${name}: ${low} \u2013 ${high}`), input);
}

function letGo(control, isTrim, move) {
    if (!isTrim && springing() && control.springs_to) move(control.name, control.springs_to.word);
}

function stickGroup(group, side, move) {
    const sliders = group.map((stick) => slider(stick, move));
    if (!side) return make("div", { class: "stick" }, ...sliders);
    const across = group.find((stick) => !stick.upright), upright = group.find((stick) => stick.upright);
    const knob = draw("circle", { r: 13, cx: 60, cy: 60, class: "moved" });
    const pad = draw("svg", { class: "pad", viewBox: "0 0 120 120", "aria-hidden": "true", "data-side": side },
        draw("rect", { x: 2, y: 2, width: 116, height: 116, rx: 12, class: "part" }),
        draw("path", { d: "M60 10V110M10 60H110", class: "thin" }), knob);
    const reach = 45;
    const to = (event) => {
        const box = pad.getBoundingClientRect();
        const off = (at, start, size) => Math.max(-100, Math.min(100, Math.round((((at - start) / size) * 120 - 60) / reach * 100)));
        if (across) move(across.name, percent(off(event.clientX, box.left, box.width)));
        if (upright) move(upright.name, percent(-off(event.clientY, box.top, box.height)));
    };
    pad.addEventListener("pointerdown", (event) => {
        pad.setPointerCapture(event.pointerId);
        to(event);
    });
    pad.addEventListener("pointermove", (event) => pad.hasPointerCapture(event.pointerId) && to(event));
    for (const end of ["pointerup", "pointercancel"]) {
        pad.addEventListener(end, () => group.forEach((stick) => letGo(stick, false, move)));
    }
    if (across) shown(across.name, (at) => knob.setAttribute("cx", 60 + (at / 100) * reach));
    if (upright) shown(upright.name, (at) => knob.setAttribute("cy", 60 - (at / 100) * reach));
    return make("div", { class: "stick", role: "group", "aria-label": `${side} stick` }, make("b", {}, `${side} stick`), pad, ...sliders);
}

/** A switch, button, knob or slider. */
function place(control, move) {
    if (control.kind === "axis") return make("fieldset", {}, make("legend", {}, control.name), slider(control, move));
    const springs = control.springs_to;
    const note = control.kind === "reported" ? " (as telemetry tells)" : springs ? " (springs back)" : "";
    if (control.kind === "button") return make("fieldset", {}, make("legend", {}, control.name + note), button(control, move));
    const group = `switch-${shows.size}`;
    const positions = control.positions.map((word, at) => {
        const input = make("input", { type: "radio", name: group, value: word, "data-control": control.name, change: () => move(control.name, word) });
        shown(control.name, (stands) => (input.checked = stands === at));
        const isStart = control.start?.place === at;
        return make("label", {}, input, make("span", { class: isStart ? "start" : null }, word));
    });
    const back = springs && control.kind !== "reported"
        ? make("button", { type: "button", click: () => move(control.name, springs.word) }, "let go") : null;
    return make("fieldset", {}, make("legend", {}, control.name + note), ...positions, back);
}

function button(control, move) {
    const [released, pressed] = control.positions;
    let at = 0;
    const element = make("button", { type: "button", "aria-pressed": "false", "data-control": control.name }, control.springs_to ? "hold" : "press");
    const to = (word) => move(control.name, word);
    if (!control.springs_to) {
        element.addEventListener("click", () => to(at ? released : pressed));
    } else {
        // A mouse or finger holds it down; a key presses it, and presses it again to let go.
        let byPointer = false;
        element.addEventListener("pointerdown", () => ((byPointer = true), to(pressed)));
        for (const end of ["pointerup", "pointercancel", "pointerleave"]) {
            element.addEventListener(end, () => byPointer && springing() && to(released));
        }
        element.addEventListener("click", () => {
            if (!byPointer || !springing()) to(at ? released : pressed);
            byPointer = false;
        });
    }
    shown(control.name, (stands) => {
        at = stands;
        element.setAttribute("aria-pressed", String(stands === 1));
    });
    return element;
}
