// What the page asks the core. Everything that is not drawing is answered there.

const decoded = (id) => Uint8Array.from(atob(document.getElementById(id).textContent), (letter) => letter.charCodeAt(0));

const worker = new Worker(URL.createObjectURL(new Blob([document.getElementById("worker").textContent], { type: "text/javascript" })));
const waiting = new Map();
let asked = 0;

worker.onmessage = ({ data }) => {
    const { resolve, reject } = waiting.get(data.number);
    waiting.delete(data.number);
    if ("wrong" in data.answer) reject(new Error(data.answer.wrong));
    else resolve(data.answer.value);
};
worker.onerror = (event) => {
    for (const { reject } of waiting.values()) reject(new Error("the core can't be started: " + event.message));
    waiting.clear();
};
{
    const packed = decoded("core");
    worker.postMessage({ core: packed }, [packed.buffer]);
    document.getElementById("core").textContent = "";
}

/** Asks the core; the promise fails with what is wrong in words. */
export const ask = (request, text) => askAll([{ request, text }]);

/** Asks the core several things on one way there and back, each of them `{ request, text }`; the answer is that of the last. */
export function askAll(requests) {
    const number = asked++;
    return new Promise((resolve, reject) => {
        waiting.set(number, { resolve, reject });
        worker.postMessage({ number, requests });
    });
}
