// Small helpers to write elements. Texts are set as texts, never as markup.

const SVG = "http://www.w3.org/2000/svg";

export const byId = (id) => document.getElementById(id);

/** An element with attributes (functions become listeners) and children. */
export function make(tag, attributes = {}, ...children) {
    return fill(document.createElement(tag), attributes, children);
}

/** The same of a picture. */
export function draw(tag, attributes = {}, ...children) {
    return fill(document.createElementNS(SVG, tag), attributes, children);
}

function fill(element, attributes, children) {
    for (const [name, value] of Object.entries(attributes)) {
        if (typeof value === "function") element.addEventListener(name, value);
        else if (value !== null && value !== undefined && value !== false) element.setAttribute(name, value === true ? "" : value);
    }
    element.append(...children.filter((child) => child !== null && child !== undefined));
    return element;
}

/** Severities are told apart by word and shape. */
const SHAPES = { fault: "\u2715", danger: "\u25a0", caution: "\u25b2", note: "\u25cf" };
const shapeOf = (severity) => SHAPES[severity] ?? "\u25c7";

/** Says something to those who listen, and shows it. */
export function say(text) {
    byId("said").textContent = text;
}
