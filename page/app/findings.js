// The verdict and the findings of an aircraft; the page of a rule; examples that are played.
import { byId, make, shapeOf } from "./signs.js";
import { showLine } from "./text.js";
import { ask } from "./core.js";

/** Shows what is found about an aircraft; `play` is told the number of a finding whose example is to be played. */
export function showFindings(inspected, craft, play) {
    const verdict = inspected.verdicts.find((known) => known.craft === craft);
    byId("verdict").textContent = verdict ? `${craft}: ${verdict.words}` : "";
    byId("caution").textContent = `${verdict?.caution ?? "Propellers off."} Before anything is tried on the bench, and again each time.`;
    const numbered = inspected.report.findings.map((finding, number) => ({ finding, number }));
    const own = numbered.filter(({ finding }) => !craft || finding.aircraft.includes(craft));
    const others = numbered.filter(({ finding }) => craft && !finding.aircraft.length);
    const item = ({ finding, number }) => {
        const buttons = [make("button", { type: "button", class: "line", click: () => showLine(finding.place.file, finding.place.line) }, `${finding.place.file} line ${finding.place.line}`)];
        buttons.push(" ", make("button", { type: "button", class: "line", click: () => showRule(finding.rule) }, "Why"));
        if (finding.witness) buttons.push(" ", make("button", { type: "button", class: "line", "data-finding": number, click: () => play(number) }, "Play the example"));
        return make("li", { "data-rule": finding.rule }, `${shapeOf(finding.severity)} `, make("b", {}, finding.severity), ` ${finding.message} `, make("span", { class: "small" }, finding.rule), make("div", {}, ...buttons));
    };
    const items = own.map(item);
    if (others.length) items.push(make("li", {}, make("b", {}, "About the whole folder:"), make("ul", {}, ...others.map(item))));
    if (inspected.left) items.push(make("li", {}, `${inspected.left} more are not shown: mend these first.`));
    byId("findings").replaceChildren(...(items.length ? items : [make("li", {}, "Nothing is found. That is what the rules look at, and no word about the rest.")]));
}

async function showRule(rule) {
    byId("why-title").textContent = rule;
    byId("why-text").textContent = await ask({ do: "why", rule });
    byId("why").showModal();
}
