// The core in its own thread: a large folder may take seconds, and the page stays alive meanwhile.
"use strict";
let core = null;

async function start(packed) {
    const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
    const bytes = await new Response(stream).arrayBuffer();
    core = (await WebAssembly.instantiate(bytes, {})).instance.exports;
}

function ask(request, text) {
    const line = new TextEncoder().encode(JSON.stringify(request) + "\n");
    const at = core.room(line.length + text.length);
    const room = new Uint8Array(core.memory.buffer, at, line.length + text.length);
    room.set(line);
    room.set(text, line.length);
    const bytes = core.answer();
    const answer = new Uint8Array(core.memory.buffer, core.answered(), bytes);
    return JSON.parse(new TextDecoder().decode(answer));
}

let ready = null;
onmessage = async ({ data }) => {
    if (data.core) {
        ready = start(data.core);
        return;
    }
    let answer;
    try {
        await ready;
        answer = ask(data.request, data.text ?? new Uint8Array());
    } catch (error) {
        answer = { wrong: "the core stopped: " + error };
    }
    postMessage({ number: data.number, answer });
};
