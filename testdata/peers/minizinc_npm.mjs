// Runs the MiniZinc of the npm package "minizinc", which is WebAssembly and brings the
// solvers Chuffed and Gecode along, as the command of that name is run. The package is
// made for browsers: what its worker needs of one is given to it here. Usage:
//
//   npm pack minizinc@4.5.1 && tar xzf minizinc-4.5.1.tgz
//   node testdata/peers/minizinc_npm.mjs package --solver chuffed model.mzn data.json

import { readFileSync } from 'node:fs'
import { basename, join } from 'node:path'

const node = process
const [folder, ...words] = node.argv.slice(2)
const dist = join(folder, 'dist')
const worker = readFileSync(join(dist, 'minizinc-worker.js'), 'utf8')

// The files of the command line go into the worker's own file system.
const files = {}
const args = words.map(word => {
  if (!/\.(mzn|json)$/.test(word)) return word
  files[basename(word)] = readFileSync(word, 'utf8')
  return basename(word)
})

let listen
let asked = false
Object.assign(globalThis, {
  self: globalThis,
  process: undefined, // or it takes this for what it is
  WorkerGlobalScope: function () {},
  location: { href: 'http://localhost/worker.js', pathname: '/worker.js' },
  addEventListener: (kind, f) => { if (kind === 'message') listen = f },
  fetch: async url => new Response(readFileSync(join(dist, basename(String(url)))), {
    headers: { 'content-type': String(url).endsWith('.wasm') ? 'application/wasm' : 'application/octet-stream' },
  }),
  postMessage: message => {
    if (message.type === 'ready' && !asked) {
      asked = true
      listen({ data: { jsonStream: false, files, args } })
    } else if (message.type === 'exit') {
      node.stdout.write(message.stdout ?? '')
      node.stderr.write((message.stderr ?? '') + (message.message ?? ''))
      node.exitCode = message.code
    }
  },
});
(0, eval)(worker)
await listen({ data: { wasmURL: 'http://localhost/minizinc.wasm', dataURL: 'http://localhost/minizinc.data' } })
