// The core in its own thread: a large folder may take seconds, and the page stays alive meanwhile.
"use strict";
let module = null;
let core = null;

async function start(packed) {
    const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
    module = await WebAssembly.compile(await new Response(stream).arrayBuffer());
    core = (await WebAssembly.instantiate(module, {})).exports;
}

/** Has the core answer a request; the answer's bytes stand in its memory until the next one. */
function answered(core, request, text) {
    const line = new TextEncoder().encode(JSON.stringify(request) + "\n");
    const at = core.room(line.length + text.length);
    const room = new Uint8Array(core.memory.buffer, at, line.length + text.length);
    room.set(line);
    room.set(text, line.length);
    const bytes = core.answer();
    return new Uint8Array(core.memory.buffer, core.answered(), bytes);
}

const parsed = (bytes) => JSON.parse(new TextDecoder().decode(bytes));

// A browser begins with code that it can make at once, and gives better code to what runs often. So a core that is thrown away inspects
// the examples of all rules, and what was asked first, up to the inspection of the demo, some times more, while nothing else is asked.
const ROUNDS = 8;
// Of a folder that takes longer, in ms, what is asked meanwhile would wait too long.
const LONGEST = 500;
let first = [];

async function practise(asked) {
    const spare = (await WebAssembly.instantiate(module, {})).exports;
    // What was asked meanwhile comes first.
    const ask = async ({ request, text = new Uint8Array() }) => {
        await new Promise((resolve) => setTimeout(resolve));
        return parsed(answered(spare, request, text));
    };
    for (let from = 0; from !== null; ) from = (await ask({ request: { do: "practise", from } })).value ?? null;
    for (let round = 0; round < ROUNDS; round++) {
        for (const one of asked) await ask(one);
    }
}

let ready = null;
onmessage = async ({ data }) => {
    if (data.core) {
        ready = start(data.core);
        return;
    }
    const { number, request, text = new Uint8Array() } = data;
    let answer;
    let begun;
    try {
        await ready;
        begun = performance.now();
        answer = parsed(answered(core, request, text));
    } catch (error) {
        answer = { wrong: "the core stopped: " + error };
    }
    postMessage({ number, answer });
    first?.push({ request, text });
    if (first && request.do === "inspect") {
        // Without it the page is slower at first, and that is all.
        if (performance.now() - begun < LONGEST) practise(first).catch(() => {});
        first = null;
    }
};
