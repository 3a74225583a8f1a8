// Reads a zip archive (APPNOTE 6.3): the central directory, and files that are stored or deflated.

const END = 0x06054b50, ENTRY = 0x02014b50, LOCAL = 0x04034b50;
// No text of a fleet is larger; the core refuses it by name.
const LARGEST_TEXT = 8 << 20;

/** The texts of an archive by name, those whose names `wanted` accepts. */
export async function unzip(buffer, wanted) {
    const view = new DataView(buffer);
    let end = view.byteLength - 22;
    const last = Math.max(0, end - 0xffff);
    while (end >= last && view.getUint32(end, true) !== END) end--;
    if (end < last || end < 0) throw new Error("this is no zip archive");
    const texts = new Map();
    const count = view.getUint16(end + 10, true);
    let at = view.getUint32(end + 16, true);
    for (let entry = 0; entry < count; entry++) {
        if (view.getUint32(at, true) !== ENTRY) throw new Error("the archive's list of files is broken");
        const flags = view.getUint16(at + 8, true), method = view.getUint16(at + 10, true);
        const packed = view.getUint32(at + 20, true);
        const [nameLength, extra, comment] = [28, 30, 32].map((off) => view.getUint16(at + off, true));
        const local = view.getUint32(at + 42, true);
        const name = new TextDecoder().decode(new Uint8Array(buffer, at + 46, nameLength));
        at += 46 + nameLength + extra + comment;
        if (!wanted(name)) continue;
        if (flags & 1) throw new Error(`${name} is encrypted`);
        if (view.getUint32(local, true) !== LOCAL) throw new Error(`${name} is not where the archive says`);
        const start = local + 30 + view.getUint16(local + 26, true) + view.getUint16(local + 28, true);
        const bytes = new Uint8Array(buffer, start, packed);
        if (method === 0) texts.set(name, bytes.slice());
        else if (method === 8) texts.set(name, await inflated(bytes, name));
        else throw new Error(`${name} is packed in a way that is not known here`);
    }
    return texts;
}

async function inflated(bytes, name) {
    const reader = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw")).getReader();
    const parts = [];
    let size = 0;
    for (;;) {
        const { done, value } = await reader.read();
        if (done) break;
        size += value.length;
        if (size > LARGEST_TEXT) {
            await reader.cancel();
            throw new Error(`${name} is too large for a text`);
        }
        parts.push(value);
    }
    return new Uint8Array(await new Blob(parts).arrayBuffer());
}
