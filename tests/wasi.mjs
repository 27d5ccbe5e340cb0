// Runs a test program that was built for wasm32-wasip1, with Node's own WASI and nothing from its
// surroundings: node tests/wasi.mjs PROGRAM.wasm [ARGUMENT…]

import { readFileSync } from "node:fs";
import { WASI } from "node:wasi";

const [program, ...more] = process.argv.slice(2);
const wasi = new WASI({ version: "preview1", args: [program, ...more], returnOnExit: true });
const compiled = await WebAssembly.compile(readFileSync(program));
const running = await WebAssembly.instantiate(compiled, wasi.getImportObject());
process.exitCode = wasi.start(running);
