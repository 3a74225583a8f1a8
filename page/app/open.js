// Opens a folder, files, an archive, a drop, or the texts that stand in this page. Nothing leaves the machine.
import { unzip } from "./zip.js";
import { byId, say } from "./signs.js";

const isWanted = (name) => /(\.rig|\.rig\.json|(^|\/)walkaround\.toml)$/.test(name) && !name.split("/").some((part) => part.startsWith("."));

/** The texts in this page: those of a folder, where `sheet --live` wrote them, or else of the demo. */
export function embedded(id) {
    const texts = JSON.parse(byId(id).textContent);
    if (!texts) return null;
    // What is no text is written as its bytes.
    const bytes = (text) => (typeof text === "string" ? new TextEncoder().encode(text) : Uint8Array.from(text));
    return new Map(Object.entries(texts).map(([name, text]) => [name, bytes(text)]));
}

/** The folder that all names share, with a `/` behind it. */
function sharedFolder(texts) {
    const folders = [...texts.keys()].map((name) => name.split("/").slice(0, -1));
    let shared = folders[0]?.length ?? 0;
    while (shared && !folders.every((folder) => folder.slice(0, shared).join("/") === folders[0].slice(0, shared).join("/"))) shared--;
    return folders.length ? folders[0].slice(0, shared).map((folder) => `${folder}/`).join("") : "";
}

async function taken(files, nameOf) {
    const texts = new Map();
    for (const file of files) {
        if (/\.zip$/i.test(file.name)) {
            for (const [name, text] of await unzip(await file.arrayBuffer(), isWanted)) texts.set(name, text);
        } else if (isWanted(nameOf(file))) {
            texts.set(nameOf(file), new Uint8Array(await file.arrayBuffer()));
        }
    }
    const shared = sharedFolder(texts);
    // The record of known findings has whatever name the settings file gives it, so it is looked for when that is known.
    const find = async (name) => {
        for (const file of files) {
            if (/\.zip$/i.test(file.name)) {
                const [found] = await unzip(await file.arrayBuffer(), (known) => known === shared + name);
                if (found) return found[1];
            } else if (nameOf(file) === shared + name) {
                return new Uint8Array(await file.arrayBuffer());
            }
        }
        return null;
    };
    return [new Map([...texts].map(([name, text]) => [name.slice(shared.length), text])), find];
}

/** Lets the pilot open something; `opened` is given the texts by name, and what finds another one by its name. */
export function openers(opened) {
    const take = async (files, nameOf) => {
        try {
            const [texts, find] = await taken([...files], nameOf);
            if (texts.size) opened(texts, find);
            else say("There is no .rig file in it.");
        } catch (error) {
            say(error.message);
        }
    };
    const pathOf = (file) => file.webkitRelativePath || file.name;
    for (const id of ["folder-input", "files-input"]) {
        byId(id).addEventListener("change", async ({ target }) => {
            await take(target.files, pathOf);
            target.value = "";
        });
    }
    byId("open-folder").addEventListener("click", () => byId("folder-input").click());
    byId("open-files").addEventListener("click", () => byId("files-input").click());
    byId("open-demo").addEventListener("click", () => opened(embedded("demo")));
    addEventListener("dragover", (event) => event.preventDefault());
    addEventListener("drop", (event) => {
        event.preventDefault();
        const entries = [...event.dataTransfer.items].map((item) => item.webkitGetAsEntry?.()).filter(Boolean);
        if (entries.some((entry) => entry.isDirectory)) {
            filesBelow(entries).then((found) => take(found.map(({ file }) => file), (file) => found.find((one) => one.file === file).path));
        } else {
            take(event.dataTransfer.files, (file) => file.name);
        }
    });
}

async function filesBelow(entries) {
    const found = [];
    for (const entry of entries) {
        if (entry.isFile) {
            found.push({ path: entry.fullPath.replace(/^\//, ""), file: await new Promise((resolve, reject) => entry.file(resolve, reject)) });
            continue;
        }
        const reader = entry.createReader();
        for (;;) {
            const some = await new Promise((resolve, reject) => reader.readEntries(resolve, reject));
            if (!some.length) break;
            found.push(...(await filesBelow(some)));
        }
    }
    return found;
}
