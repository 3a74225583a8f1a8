// Brings the parts together: texts to the core, movements to the core, answers to the screen.
import { byId, make, say } from "./signs.js";
import { ask, askAll } from "./core.js";
import { embedded, openers } from "./open.js";
import { addText, startText, takeMarks, takeTexts } from "./text.js";
import { drawHandset, showPlaces } from "./handset.js";
import { drawChannels, showChannels } from "./channels.js";
import { drawCraft, showCraft } from "./craft.js";
import { showFindings } from "./findings.js";
import { startPad, takeAxes } from "./pad.js";

let inspected = null;
let bench = null;
let chosen = null;
let play = null;
let isLost = false;
// The movements so far, as `walkaround trace --set … --then …` takes them, and those that are not played yet.
let path = { set: [], then: [] };
let pending = [];
let running = null;
// How often it was begun anew: what was asked before then is not shown.
let begun = 0;
let example = null;
// What was shown when a slip in the text took it away: it comes back when the slip is mended.
let kept = null;
// Texts that the core has and the screen has not yet.
let unshown = null;
let typing = 0;
// Finds the bytes of a file beside the texts that were opened, by its name; null where there is none.
let find = async () => null;

const written = (name, word) => `"${name.replace(/["\\]/g, "\\$&")}"=${word}`;
const today = () => {
    const now = new Date();
    return [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((part) => String(part).padStart(2, "0")).join("-");
};
// How a pair is known again in the list.
const keyOf = ({ craft, model }) => JSON.stringify({ craft, model });
// A movement as it is read.
const told = (text) => text.replace(/"([^"]*)"=/g, "$1 to ");
const failed = (error) => say(error.message);

/** Moves a control. Of movements that wait, a newer one of the same control takes the older one's place; the first is being played. */
function move(name, word) {
    const text = written(name, word);
    if (pending.length > 1 && pending.at(-1).startsWith(written(name, ""))) pending.pop();
    pending.push(text);
    run();
}

/** Has the movements played, one after the other, until none waits. */
function run() {
    running ??= playAll().finally(() => (running = null));
    return running;
}

async function playAll() {
    let isOld;
    do {
        const [next] = pending;
        const [began, of] = [begun, chosen];
        if (!of) return false;
        const tried = { set: path.set, then: next ? [...path.then, next] : path.then };
        try {
            const answer = await ask({ do: "play", ...of, ...tried });
            isOld = began !== begun || of !== chosen;
            if (isOld) continue;
            if (next) pending.splice(pending.indexOf(next), 1);
            if (answer.shorter) tried.then.splice(-2, 1);
            path = tried;
            play = answer;
            show();
        } catch (error) {
            pending = [];
            failed(error);
            return false;
        }
    } while (pending.length || isOld);
    document.body.dataset.settled = String(Number(document.body.dataset.settled ?? 0) + 1);
    return true;
}

function show() {
    showPlaces(bench, play);
    showChannels(play, isLost ? bench.losses : null);
    showCraft(bench, play);
    byId("path").textContent = [`${chosen.model} flies ${chosen.craft}`, play.way, ...path.set.map((text) => `--set '${text}'`), ...path.then.map((text) => `--then '${text}'`)].join("\n");
    byId("path").dataset.path = JSON.stringify(path);
}

/** From now on these movements, played. */
function begin(moves) {
    path = { set: [...moves.set], then: [...moves.then] };
    pending = [];
    begun++;
    return run();
}

/** Where the handset is turned on as the start check demands. */
const startOf = () => ({
    set: bench.controls.filter((control) => control.start && control.start.place !== control.rests_at?.place).map((control) => written(control.name, control.start.word)),
    then: [],
});

async function choose(pair, moves) {
    byId("bench").hidden = !pair;
    byId("player").hidden = true;
    example = null;
    lose(false);
    chosen = null;
    if (!pair) return;
    byId("pair").value = keyOf(pair);
    try {
        bench = await ask({ do: "describe", ...pair });
    } catch (error) {
        byId("bench").hidden = true;
        return failed(error);
    }
    chosen = pair;
    drawHandset(bench, move);
    drawChannels(bench);
    drawCraft(bench);
    takeAxes(bench);
    showFindings(inspected, pair.craft, playExample);
    // A control may be gone that was moved before the text changed.
    if (!moves || !(await begin(moves))) await begin(startOf());
}

/** Has everything inspected again. Whoever asks while that goes on waits for one inspection more, however many ask. */
function inspect() {
    const next = () => {
        queued = null;
        return (inspecting = inspectNow());
    };
    return (queued ??= inspecting.then(next, next));
}
let inspecting = Promise.resolve();
let queued = null;

/** The aircraft that is shown stays, with its movements where they still can be made. */
async function inspectNow() {
    const before = kept ?? { pair: byId("pair").value, path };
    try {
        const record = await giveRecord();
        const answer = ask({ do: "inspect", today: today() });
        // Drawn while the core works.
        showTexts(record);
        inspected = await answer;
    } catch (error) {
        showTexts(null);
        return failed(error);
    }
    takeMarks(inspected.report.findings, inspected.left);
    const aircraft = inspected.verdicts.map((verdict) => verdict.craft);
    const pairs = [...inspected.pairs].sort((one, other) => aircraft.indexOf(one.craft) - aircraft.indexOf(other.craft));
    byId("pair").replaceChildren(...pairs.map((pair) => make("option", { value: keyOf(pair) }, `${pair.craft} with ${pair.model}`)));
    const same = pairs.find((pair) => keyOf(pair) === before.pair);
    kept = same || !before.pair ? null : before;
    say(inspected.totals);
    showFindings(inspected, (same ?? pairs[0])?.craft, playExample);
    await choose(same ?? pairs[0], same ? before.path : undefined);
    document.body.dataset.inspected = String(Number(document.body.dataset.inspected ?? 0) + 1);
}

/** Gives the core the record of known findings that the settings name; its name and bytes, where there is one. */
async function giveRecord() {
    const name = await ask({ do: "record" });
    const bytes = name && (await find(name));
    if (!bytes) return null;
    await ask({ do: "set", name }, bytes);
    return [name, bytes];
}

/** Shows the texts that were opened, where the screen has those before them, and the record of known findings. */
function showTexts(record) {
    if (unshown) {
        // What was typed last belongs to a text that is gone.
        clearTimeout(typing);
        takeTexts(unshown);
        unshown = null;
    }
    if (record) addText(...record);
}

async function opened(texts, finder = async () => null) {
    find = finder;
    unshown = texts;
    kept = null;
    byId("pair").replaceChildren();
    try {
        await askAll([{ request: { do: "clear" } }, ...[...texts].map(([name, text]) => ({ request: { do: "set", name }, text }))]);
    } catch (error) {
        return failed(error);
    }
    await inspect();
}

async function playExample(number) {
    try {
        const found = await ask({ do: "example", finding: number });
        await choose({ model: found.model, craft: found.craft }, { set: found.moves.set, then: [] });
        showPlayer(found.moves, inspected.report.findings[number].message);
    } catch (error) {
        failed(error);
    }
}

function showPlayer(moves, words) {
    example = { moves, at: 0 };
    byId("player").hidden = false;
    byId("player-words").textContent = words;
    step(0);
    byId("player-next").focus();
}

function step(at) {
    example.at = Math.min(at, example.moves.then.length);
    const left = example.moves.then.length - example.at;
    byId("player-next").disabled = byId("player-all").disabled = left === 0;
    const { set, then } = example.moves;
    const now = example.at ? `Put ${told(then[example.at - 1])}` : set.length ? `Turned on with ${told(set.join(", "))}` : "Turned on with everything at rest";
    byId("player-step").textContent = `${then[example.at - 1]?.startsWith("wait") ? then[example.at - 1] : now}. ${left ? `${left} to come.` : "This is the example."}`;
    return begin({ set: example.moves.set, then: example.moves.then.slice(0, example.at) });
}

function lose(now) {
    isLost = now;
    byId("lose").setAttribute("aria-pressed", String(now));
    byId("lose").textContent = now ? "The link is lost: bring it back" : "Lose the link now";
    const losses = now ? bench.losses : [];
    byId("lost").replaceChildren(...losses.map((loss) => make("div", {},
        loss.receiver ? make("b", {}, `Receiver ${loss.receiver}${loss.backed ? " (the other one takes over first)" : ""}`) : null,
        make("ol", {}, ...loss.words.map((words) => make("li", {}, words))))),
        now && !losses.length ? "What happens is not stated." : "");
    if (play && chosen) show();
}

byId("pair").addEventListener("change", ({ target }) => {
    kept = null;
    choose(JSON.parse(target.value));
});
byId("reset").addEventListener("click", () => begin(startOf()));
byId("wait").addEventListener("click", () => {
    pending.push(`wait ${Number(byId("seconds").value) || 0} s`);
    run();
});
byId("lose").addEventListener("click", () => lose(!isLost));
byId("player-next").addEventListener("click", () => step(example.at + 1));
byId("player-again").addEventListener("click", () => step(0));
byId("player-all").addEventListener("click", async () => {
    while (example && example.at < example.moves.then.length) {
        await step(example.at + 1);
        await new Promise((done) => setTimeout(done, 700));
    }
});
byId("ask").addEventListener("submit", async (event) => {
    event.preventDefault();
    try {
        const answer = await ask({ do: "ask", ...chosen, condition: byId("condition").value });
        const words = { yes: `Yes: ${answer.words}`, no: "No: proved for all positions of all controls, in whatever order they are moved.", undecided: `Not decided: ${answer.why}` };
        const shown = answer.moves ? make("button", { type: "button", click: () => showPlayer(answer.moves, `The answer to: ${byId("condition").value}`) }, "Play it") : null;
        byId("answer").replaceChildren(make("p", {}, words[answer.answer]), ...(shown ? [shown] : []));
    } catch (error) {
        byId("answer").textContent = error.message;
    }
});
startText((name, bytes) => {
    clearTimeout(typing);
    typing = setTimeout(async () => {
        await ask({ do: "set", name }, bytes);
        await inspect();
    }, 150);
});
startPad(move);
openers(opened);
if (matchMedia("(max-width: 60rem)").matches) byId("texts").open = false;
opened(embedded("folder") ?? embedded("demo"));
