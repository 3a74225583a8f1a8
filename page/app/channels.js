// Every channel live: what is sent, what is received, and the levels of the link.
import { byId, draw, make } from "./signs.js";

const LEFT = 860, RIGHT = 2140, WIDTH = 200;
const across = (pulse) => ((Math.max(LEFT, Math.min(RIGHT, pulse)) - LEFT) / (RIGHT - LEFT)) * (WIDTH - 10) + 5;
const MOST_STROKES = 32;
let rows = new Map();

export function drawChannels(bench) {
    rows = new Map();
    byId("channels").tBodies[0].replaceChildren(...[...bench.channels].sort((one, other) => one.channel - other.channel).map((channel) => {
        const sent = draw("path", { d: "M0 12l-4 -9h8z", class: "line" });
        const received = draw("path", { d: "M0 14l-5 10h10z", class: "fill" });
        const { centre, span } = bench.scale;
        const strokes = channel.levels && channel.levels <= MOST_STROKES
            ? Array.from({ length: channel.levels }, (_, at) => across(centre - span + (2 * span * at) / (channel.levels - 1))) : [];
        const picture = draw("svg", { viewBox: `0 0 ${WIDTH} 26`, preserveAspectRatio: "none", "aria-hidden": "true" },
            draw("path", { d: `M5 13H${WIDTH - 5}M${across(centre)} 7V19`, class: "thin" }),
            draw("path", { d: strokes.map((at) => `M${at} 10V16`).join(""), class: "line" }), sent, received);
        const cells = ["sent", "received"].map((name) => make("td", { "data-what": name }));
        rows.set(channel.channel, { sent, received, cells });
        const steps = channel.levels ? `, ${channel.levels} levels` : "";
        const head = make("th", { scope: "row" }, `${channel.channel} ${channel.label}`, make("span", { class: "small" }, channel.carried ? steps : ", not carried"));
        return make("tr", { "data-channel": channel.channel }, head, ...cells, make("td", {}, picture));
    }));
}

/** Shows the pulses; `losses` says what each receiver does without a link, where that is looked at. */
export function showChannels(play, losses) {
    for (const row of rows.values()) row.cells.forEach((cell) => (cell.textContent = "not known"));
    for (const channel of play.state.channels) {
        const row = rows.get(channel.channel);
        if (!row) continue;
        let received = channel.carried_us;
        let words = received === null ? "nothing" : received.toFixed(1);
        if (losses) [received, words] = withoutLinks(losses, channel.channel, received, words);
        put(row.cells[0], channel.pulse_us.toFixed(1));
        put(row.cells[1], words);
        row.sent.setAttribute("transform", `translate(${across(channel.pulse_us)} 0)`);
        row.received.setAttribute("transform", `translate(${across(received ?? 0)} 0)`);
        row.received.setAttribute("visibility", received === null ? "hidden" : "visible");
    }
}

/** What the outputs of all receivers that drive a channel give; a mark stands in the picture where they agree. */
function withoutLinks(losses, channel, received, words) {
    const all = losses.filter((loss) => loss.drives.includes(channel)).map((loss) => [loss.receiver, ...withoutLink(loss, channel, received, words)]);
    if (!all.length) return [null, losses.length ? "no receiver drives it" : "not stated"];
    const [[, pulse, said]] = all;
    if (all.every(([, , other]) => other === said)) return [pulse, said];
    const agree = all.every(([, other]) => other === pulse);
    return [agree ? pulse : null, all.map(([receiver, , said]) => `${receiver ?? "receiver"}: ${said}`).join("; ")];
}

function withoutLink(lost, channel, received, words) {
    if (!lost.outputs) return [null, "not stated"];
    if (lost.outputs.do === "repeats") return [received, `${words} (repeated)`];
    if (lost.outputs.do === "stops") return [null, "stopped"];
    const stored = lost.outputs.pulses.find(([number]) => number === channel);
    return stored ? [stored[1], `${stored[1].toFixed(1)} (stored)`] : [null, "not stated"];
}

function put(cell, text) {
    if (cell.textContent !== text) cell.textContent = text;
}
