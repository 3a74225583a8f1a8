// Colours rig files with a TextMate engine. Input, as JSON: the grammar's path, and for each file its text and the places of the words
// of its statements: [[line, column in UTF-16], ...]. Prints each such word that is not coloured as one, and each other word that is.
const fs = require("fs");
const path = require("path");
const { loadWASM, OnigScanner, OnigString } = require("vscode-oniguruma");
const { Registry, parseRawGrammar, INITIAL } = require("vscode-textmate");

async function main() {
  const { grammar: file, texts } = JSON.parse(fs.readFileSync(0, "utf8"));
  const engine = path.join(path.dirname(require.resolve("vscode-oniguruma")), "onig.wasm");
  await loadWASM(fs.readFileSync(engine).buffer);
  const onigLib = Promise.resolve({
    createOnigScanner: (patterns) => new OnigScanner(patterns),
    createOnigString: (text) => new OnigString(text),
  });
  const loadGrammar = async () => parseRawGrammar(fs.readFileSync(file, "utf8"), file);
  const grammar = await new Registry({ onigLib, loadGrammar }).loadGrammar("source.rig");
  let words = 0;
  for (const { name, text, statements } of texts) {
    const wanted = new Set(statements.map(([line, column]) => `${line}:${column}`));
    let stack = INITIAL;
    text.split(/\r?\n/).forEach((line, number) => {
      const coloured = grammar.tokenizeLine(line, stack);
      stack = coloured.ruleStack;
      for (const { startIndex, endIndex, scopes } of coloured.tokens) {
        const isWord = scopes.some((scope) => /^keyword\.(other\.statement|control\.block)\./.test(scope));
        const place = `${number}:${startIndex}`;
        if (isWord && !wanted.delete(place)) {
          console.log(`${name}:${number + 1}: ${line.slice(startIndex, endIndex)} is no statement's word`);
        }
        words += isWord;
      }
    });
    for (const place of wanted) console.log(`${name}:${place} (from 0) is a statement's word without a colour`);
  }
  console.log(`${words} words`);
}

main().catch((error) => {
  console.error(error);
  process.exit(1);
});
