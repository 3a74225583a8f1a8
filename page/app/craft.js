// What the aircraft does: its motors, its modes, and its surfaces moving in a plan view by its kind. Which way a surface moves and how
// far is what the core says; a part that rises or falls is drawn shorter, as it is seen from above, with an arrow beside it.
import { byId, draw, make } from "./signs.js";

let parts = [];
let tracks = [];
let lists = {};
let commanded = null;
let disc = null;

const line = (d) => draw("path", { d, class: "line" });
const body = (d) => draw("path", { d, class: "part" });

/** Outlines, seen from above with the nose up, in a field of 300 by 220. */
const OUTLINES = {
    aeroplane: () => [body("M143 20h14l5 60h118v30l-118 10 -4 60h44v20h-104v-20h44l-4 -60 -118 -10v-30h118z")],
    glider: () => [body("M146 15h8l4 62h136v20l-136 8 -3 80h36v16h-82v-16h36l-3 -80 -136 -8v-20h136z")],
    "flying-wing": () => [body("M150 30l130 110v30l-130 -40 -130 40v-30z")],
    helicopter: () => [draw("circle", { cx: 150, cy: 90, r: 78, class: "thin" }), body("M138 45h24l6 60 -12 30 -2 65h-8l-2 -65 -12 -30z")],
    multirotor: () => [line("M85 45L215 165M215 45L85 165"), body("M130 80h40v50h-40z"), line("M150 75v-22m-7 8l7 -8 7 8"),
        ...[[85, 45], [215, 45], [85, 165], [215, 165]].map(([cx, cy]) => draw("circle", { cx, cy, r: 30, class: "thin" }))],
    car: () => [body("M118 30h64l8 60v90h-80v-90z")],
    tracked: () => [body("M110 40h80v130h-80z"), body("M82 30h24v150h-24z"), body("M194 30h24v150h-24z")],
    boat: () => [body("M150 15l38 60v110h-76v-110z")],
    hovercraft: () => [draw("rect", { x: 95, y: 25, width: 110, height: 165, rx: 50, class: "part" })],
};
OUTLINES.autogyro = () => [draw("circle", { cx: 150, cy: 85, r: 75, class: "thin" }), body("M143 20h14l5 110 -2 50h34v18h-88v-18h34l-2 -50z")];
OUTLINES.vtol = () => [line("M72 45v130M228 45v130"), ...OUTLINES.aeroplane(),
    ...[[72, 45], [228, 45], [72, 175], [228, 175]].map(([cx, cy]) => draw("circle", { cx, cy, r: 26, class: "thin" }))];

/** Where a surface sits: [x, y, width, how it moves], from what it is said to do and on which side. */
function seat(surface, bench) {
    const does = (name) => surface.functions.includes(name);
    const side = surface.side === "left" ? -1 : surface.side === "right" ? 1 : 0;
    const wing = bench.kind === "flying-wing";
    if (does("steering")) return ["car", "tracked"].includes(bench.kind) ? [150, 58, 70, "wheels"] : [150, 196, 34, "fin"];
    if (does("tail") || (does("yaw") && !does("pitch") && !does("roll"))) return [150 + side * 20, bench.kind === "helicopter" ? 203 : 200, 34, "fin"];
    if (does("pitch") && does("yaw")) return [150 + side * 28, 200, 42, "plate"];
    if (bench.kind === "helicopter" && (does("roll") || does("pitch"))) return null;
    if (does("roll") && does("pitch")) return wing ? [150 + side * 75, 146, 80, "plate"] : [150 + side * 30, 200, 44, "plate"];
    if (does("pitch")) return bench.canard ? [150 + side * 28, 40, side ? 46 : 90, "plate"] : [150 + side * 26, 200, side ? 44 : 92, "plate"];
    if (does("roll")) return [150 + side * 100, 114, side ? 56 : 60, "plate"];
    if (does("flap") && side) return [150 + side * 42, 120, 46, "plate"];
    if ((does("spoiler") || does("brake")) && side) return [150 + side * 70, 90, 40, "plate"];
    return null;
}

const OPPOSITE = { up: "down", down: "up", left: "right", right: "left", open: "closed", on: "off" };

/** How far, and which way where that is stated: "34 % up". */
function inWords(percent, highIs) {
    if (percent === null) return "?";
    const far = Math.round(percent);
    if (!highIs) return `${far} %`;
    return far ? `${Math.abs(far)} % ${far > 0 ? highIs : OPPOSITE[highIs]}` : "0 %";
}

/** A track or a side with a motor of its own: an arrow for its power, forwards or, where it can run so, backwards. */
function trackPart(motor) {
    const x = motor.side === "left" ? 94 : 206;
    const arrow = draw("path", { class: "line", "stroke-width": 4 });
    return [arrow, (known) => {
        const power = known?.still === false ? (motor.reversible ? (known.percent ?? 0) / 100 : ((known.percent ?? 0) / 100 + 1) / 2) : 0;
        const sign = Math.sign(power);
        arrow.setAttribute("d", Math.abs(power) < 0.02 ? "" : `M${x} 105v${-60 * power}m-6 ${8 * sign}l6 ${-8 * sign} 6 ${8 * sign}`);
    }];
}

function surfacePart(surface, place) {
    const [x, y, width, sort] = place;
    if (sort === "plate") {
        const plate = draw("rect", { x: x - width / 2, y, width, height: 16, class: "moved" });
        const arrow = draw("path", { class: "line" });
        const text = draw("text", { x, y: y + 31, "text-anchor": "middle" });
        return [draw("g", {}, plate, arrow, text), (percent) => {
            const up = surface.high_is === "up" ? 1 : surface.high_is === "down" ? -1 : 0;
            const share = Math.max(-1, Math.min(1, (percent ?? 0) / 100));
            plate.setAttribute("height", 16 - 8 * Math.abs(share));
            const tip = share * up;
            arrow.setAttribute("d", Math.abs(tip) < 0.02 ? "" : `M${x} ${y + 8}v${-28 * tip}m-5 ${6 * Math.sign(tip)}l5 ${-6 * Math.sign(tip)} 5 ${6 * Math.sign(tip)}`);
            text.textContent = inWords(percent, surface.high_is);
        }];
    }
    const turned = draw("g", {});
    const blades = sort === "wheels" ? [[x - 45, y], [x + 45, y]] : [[x, y - 10]];
    const shapes = blades.map(([cx, cy]) => [draw("rect", { x: cx - 4, y: sort === "wheels" ? cy - 15 : cy, width: 8, height: sort === "wheels" ? 30 : 26, class: "moved" }), cx, cy]);
    const text = draw("text", { x: sort === "wheels" ? x + 62 : Math.max(x + 14, 204), y: sort === "wheels" ? y + 4 : y });
    turned.append(...shapes.map(([shape]) => shape), text);
    return [turned, (percent) => {
        const right = surface.high_is === "right" ? 1 : surface.high_is === "left" ? -1 : 0;
        // A wheel shows the way with its front, a fin with its trailing edge.
        const angle = ((percent ?? 0) / 100) * right * 30 * (sort === "wheels" ? 1 : -1);
        for (const [shape, cx, cy] of shapes) shape.setAttribute("transform", `rotate(${angle} ${cx} ${cy})`);
        text.textContent = inWords(percent, surface.high_is);
    }];
}

/** Which way the disc of a helicopter tilts when the pulse rises, where that is stated: to the right, and back as the nose goes up. */
const TILTS = { roll: { right: 1, left: -1 }, pitch: { up: 1, down: -1 } };

/** The disc of a helicopter: an arrow from its middle to where it tilts; a line to both sides where it is not stated which. */
function discPart(bench) {
    const does = (surface, name) => surface.functions.length === 1 && surface.functions[0] === name;
    const halves = Object.keys(TILTS).map((name) => [name, bench.surfaces.find((surface) => does(surface, name))]);
    if (!halves.some(([, surface]) => surface)) return null;
    const [tilt, head, open] = [draw("path", { class: "line", "stroke-width": 4 }), draw("circle", { r: 6, class: "moved" }), draw("path", { class: "line", "stroke-dasharray": "5 4" })];
    const group = draw("g", {}, open, tilt, head);
    return [group, (play) => {
        const tip = { roll: 0, pitch: 0 };
        let unknown = "";
        for (const [name, surface] of halves) {
            const percent = surface && play.surfaces.find((known) => known.channel === surface.channel)?.percent;
            const share = Math.max(-1, Math.min(1, (percent ?? 0) / 100));
            const way = surface && TILTS[name][surface.high_is];
            if (way) tip[name] = way * share;
            else if (Math.abs(share) > 0.02) unknown += name === "pitch" ? `M150 ${90 - 70 * share}V${90 + 70 * share}` : `M${150 - 70 * share} 90H${150 + 70 * share}`;
        }
        const [x, y] = [tip.roll, tip.pitch];
        const is = Math.hypot(x, y) > 0.02;
        tilt.setAttribute("d", is ? `M150 90l${x * 65} ${y * 65}` : "");
        head.setAttribute("cx", 150 + x * 65);
        head.setAttribute("cy", 90 + y * 65);
        head.setAttribute("visibility", is ? "visible" : "hidden");
        open.setAttribute("d", unknown);
    }];
}

/** Draws the aircraft of a description. */
export function drawCraft(bench) {
    const outline = (OUTLINES[bench.kind] ?? (() => []))();
    const picture = draw("svg", { viewBox: "0 0 300 235", role: "img", "aria-label": `The ${bench.kind ?? "aircraft"} from above, nose up; the list below says the same in words` }, ...outline);
    parts = [];
    tracks = [];
    for (const surface of bench.surfaces) {
        const place = seat(surface, bench);
        if (!place) continue;
        const [part, show] = surfacePart(surface, place);
        picture.append(part);
        parts.push({ channel: surface.channel, show });
    }
    for (const motor of bench.kind === "tracked" ? bench.motors.filter((motor) => motor.side) : []) {
        const [part, show] = trackPart(motor);
        picture.append(part);
        tracks.push({ channel: motor.channel, show });
    }
    disc = null;
    const drawn = bench.kind === "helicopter" ? discPart(bench) : null;
    if (drawn) {
        picture.append(drawn[0]);
        disc = drawn[1];
    }
    const collective = bench.surfaces.find((surface) => surface.functions.includes("collective"));
    if (collective) {
        const bar = draw("rect", { x: 280, width: 10, class: "moved" });
        picture.append(draw("path", { d: "M272 90h26", class: "line" }), draw("rect", { x: 280, y: 20, width: 10, height: 140, class: "thin" }), bar, draw("text", { x: 300, y: 178, "text-anchor": "end" }, "collective"));
        parts.push({ channel: collective.channel, show: (percent) => {
            const share = Math.max(-1, Math.min(1, (percent ?? 0) / 100)) * (collective.high_is === "down" ? -1 : 1);
            bar.setAttribute("y", 90 - Math.max(0, share * 70));
            bar.setAttribute("height", Math.abs(share * 70));
        } });
    }
    commanded = null;
    if (["multirotor", "vtol"].includes(bench.kind) && bench.order) {
        const lean = draw("path", { class: "line", "stroke-width": 4 }), turn = draw("path", { class: "line" }), bar = draw("rect", { x: 280, width: 10, class: "moved" });
        picture.append(lean, turn, draw("rect", { x: 280, y: 20, width: 10, height: 180, class: "thin" }), bar, draw("text", { x: 300, y: 220, "text-anchor": "end" }, "throttle"));
        commanded = (share) => {
            lean.setAttribute("d", `M150 105l${share("roll") * 45} ${-share("pitch") * 45}`);
            const yaw = share("yaw");
            turn.setAttribute("d", Math.abs(yaw) < 0.01 ? "" : `M150 20a85 85 0 0 ${yaw > 0 ? 1 : 0} ${85 * Math.sin(yaw * 1.2)} ${85 - 85 * Math.cos(yaw * 1.2)}`);
            const height = 90 * (1 + share("throttle"));
            bar.setAttribute("y", 200 - height);
            bar.setAttribute("height", Math.max(0, height));
        };
    }
    byId("picture").replaceChildren(picture);
    const list = (id, items, text) => {
        const rows = items.map((item) => [item, make("li", {}, text(item))]);
        byId(id).replaceChildren(...rows.map(([, row]) => row));
        return rows;
    };
    lists = {
        motors: list("motors", bench.motors, () => ""),
        surfaces: list("surfaces", bench.surfaces, () => ""),
        modes: list("modes", bench.modes, () => ""),
    };
    if (!bench.modes.length) byId("modes").replaceChildren(make("li", {}, "none: it has no flight controller with modes"));
}

/** Shows what it does. */
export function showCraft(bench, play) {
    const arm = byId("arm");
    const hasArm = bench.modes.some((mode) => mode.mode === "arm");
    const asks = play.asks_to_arm;
    const runs = play.motors.filter((motor) => motor.still === false);
    const running = runs.length ? `Motor RUNS (channel ${runs.map((motor) => motor.channel).join(", ")}).` : "";
    const words = asks ? "\u25a0 ASKS TO ARM" : asks === false ? "Does not ask to arm" : hasArm ? "Not known whether it asks to arm" : "";
    arm.textContent = hasArm ? `${words}. ${asks === false ? "" : running}` : running ? `\u25a0 ${running}` : "No motor runs as far as it is stated.";
    arm.classList.toggle("asks", asks === true || (!hasArm && runs.length > 0));
    for (const [motor, row] of lists.motors) {
        const { still } = play.motors.find((known) => known.channel === motor.channel) ?? {};
        row.textContent = `motor ${motor.label || ""} (channel ${motor.channel}): ${still === true ? "stands still" : still === false ? "\u25a0 above idle" : "not known: where it idles is not stated, or nothing arrives"}`;
        row.classList.toggle("runs", still === false);
    }
    for (const [surface, row] of lists.surfaces) {
        const { words } = play.surfaces.find((known) => known.channel === surface.channel) ?? {};
        row.textContent = `${surface.label} (channel ${surface.channel}): ${words ?? "not known"}`;
    }
    for (const [mode, row] of lists.modes) {
        const on = play.state.modes[mode.mode];
        row.textContent = `${on ? "\u25a0" : on === false ? "\u25a1" : "?"} ${mode.mode}: ${on ? "on" : on === false ? "off" : "not known"}`;
        row.classList.toggle("on", on === true);
    }
    for (const part of parts) part.show(play.surfaces.find((known) => known.channel === part.channel)?.percent ?? null);
    disc?.(play);
    for (const track of tracks) track.show(play.motors.find((known) => known.channel === track.channel));
    if (commanded) {
        const { centre, span } = bench.scale;
        commanded((name) => Math.max(-1, Math.min(1, ((play.state.functions[name] ?? centre) - centre) / span)));
    }
}
