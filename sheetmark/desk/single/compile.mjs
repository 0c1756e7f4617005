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
from inspect import CO_HAS_DOCSTRING
from opcode import opmap
from types import CodeType
from zipfile import ZipFile

LOAD, STORE = opmap["LOAD_CONST"], opmap["STORE_NAME"]

def without_docstrings(code):
    """Taken out of what is compiled: from the sources it takes three times as long."""
    constants = [without_docstrings(c) if isinstance(c, CodeType) else c for c in code.co_consts]
    steps, flags, at = [*zip(code.co_code[::2], code.co_code[1::2])], code.co_flags, None
    if flags & CO_HAS_DOCSTRING:  # a function's is its first constant, and nothing loads it
        at = 0 if (LOAD, 0) not in steps else None
    elif "__doc__" in code.co_names:  # a module's or class's is loaded to be stored
        stored = (STORE, code.co_names.index("__doc__"))
        kind, constant = steps[steps.index(stored) - 1] if stored in steps else (None, None)
        at = constant if kind == LOAD and steps.count((kind, constant)) == 1 else None
    if at is not None:
        constants[at] = None
        flags &= ~CO_HAS_DOCSTRING
    return code.replace(co_consts=tuple(constants), co_flags=flags)

with ZipFile("/sources.zip") as given, ZipFile("/compiled.zip", "w") as made:
    for name in given.namelist():
        code = compile(given.read(name), name.partition("/")[2], "exec", dont_inherit=True)
        if not name.startswith("packages/sheetmark/"):  # whose docstrings are labels of settings
            code = without_docstrings(code)
        # Never held against a source: there is none beside it.
        made.writestr(name + "c", bytes(_code_to_hash_pyc(code, bytes(8), False)))
`);
writeFileSync(compiled, python.FS.readFile("/compiled.zip"));
