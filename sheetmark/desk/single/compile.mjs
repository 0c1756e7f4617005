// Compiles Python sources to bytecode by the core itself, since bytecode fits one Python only.
// node compile.mjs CORE-FOLDER SOURCES.zip COMPILED.zip

import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";

const [core, sources, compiled] = process.argv.slice(2);
const { loadPyodide } = await import(pathToFileURL(join(core, "pyodide.mjs")).href);
const python = await loadPyodide();
python.FS.writeFile("/sources.zip", new Uint8Array(readFileSync(sources)));
python.runPython(`
from importlib._bootstrap_external import _code_to_hash_pyc
from zipfile import ZipFile

with ZipFile("/sources.zip") as given, ZipFile("/compiled.zip", "w") as made:
    for name in given.namelist():
        code = compile(given.read(name), name.partition("/")[2], "exec", dont_inherit=True)
        # Never held against a source: there is none beside it.
        made.writestr(name + "c", bytes(_code_to_hash_pyc(code, bytes(8), False)))
`);
writeFileSync(compiled, python.FS.readFile("/compiled.zip"));
