// The core in its own thread: a large folder may take seconds, and the page stays alive meanwhile.
"use strict";
let core = null;

async function start(packed) {
    const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
    core = (await WebAssembly.instantiate(await new Response(stream).arrayBuffer(), {})).instance.exports;
}

/** Has the core answer a request; the answer's bytes stand in its memory until the next one. */
function answered(core, { request, text = new Uint8Array() }) {
    const line = new TextEncoder().encode(JSON.stringify(request) + "\n");
    const at = core.room(line.length + text.length);
    const room = new Uint8Array(core.memory.buffer, at, line.length + text.length);
    room.set(line);
    room.set(text, line.length);
    const bytes = core.answer();
    return new Uint8Array(core.memory.buffer, core.answered(), bytes);
}

const parsed = (bytes) => JSON.parse(new TextDecoder().decode(bytes));

// A browser begins with code that it can make at once, and gives better code to what runs often. So the core inspects the examples of all
// rules while nothing else is asked. Not a core that is thrown away: what a browser learned of one does not all serve another.
async function practise() {
    for (let from = 0; from !== null; ) {
        // What was asked meanwhile comes first.
        await new Promise((resolve) => setTimeout(resolve));
        from = parsed(answered(core, { request: { do: "practise", from } })).value?.next ?? null;
    }
}

let hasPractised = false;
let ready = null;
onmessage = async ({ data }) => {
    if (data.core) {
        ready = start(data.core);
        return;
    }
    const { number, requests } = data;
    let answer;
    try {
        await ready;
        for (const one of requests) {
            answer = parsed(answered(core, one));
            if ("wrong" in answer) break;
        }
    } catch (error) {
        answer = { wrong: "the core stopped: " + error };
    }
    postMessage({ number, answer });
    if (hasPractised || requests.at(-1).request.do !== "inspect") return;
    hasPractised = true;
    // Without it the page is slower at first, and that is all.
    practise().catch(() => {});
};
