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
import ast
from importlib._bootstrap_external import _code_to_hash_pyc
from zipfile import ZipFile

DOCUMENTED = (ast.Module, ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)

def tree_of(name, source):
    tree = ast.parse(source)
    if name.startswith("packages/sheetmark/"):
        return tree  # its docstrings are labels of settings
    for node in ast.walk(tree):
        if isinstance(node, DOCUMENTED) and ast.get_docstring(node, clean=False) is not None:
            node.body = node.body[1:] or [ast.copy_location(ast.Pass(), node.body[0])]
    return tree

with ZipFile("/sources.zip") as given, ZipFile("/compiled.zip", "w") as made:
    for name in given.namelist():
        tree = tree_of(name, given.read(name))
        code = compile(tree, name.partition("/")[2], "exec", dont_inherit=True)
        # Never held against a source: there is none beside it.
        made.writestr(name + "c", bytes(_code_to_hash_pyc(code, bytes(8), False)))
`);
writeFileSync(compiled, python.FS.readFile("/compiled.zip"));
