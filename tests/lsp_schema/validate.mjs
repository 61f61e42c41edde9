// Holds every message that the server sent in tests/server.rs against JSON Schemas that are made
// from the protocol's own TypeScript types: nothing may be missing, of another type, or unknown.
// tests/lsp_shapes.py does the same with another description of the protocol; each lets through
// what the other stops.
//
//     cargo test --test server
//     cp -r tests/lsp_schema target && cd target/lsp_schema
//     npm ci && node validate.mjs ../tmp/lsp-sessions

import assert from 'node:assert/strict'
import fs from 'node:fs'
import path from 'node:path'
import { fileURLToPath } from 'node:url'
import Ajv from 'ajv'
import ts from 'typescript'
import { createGenerator } from 'ts-json-schema-generator'

const here = path.dirname(fileURLToPath(import.meta.url))
const protocol = 'vscode-languageserver-protocol'

// ---- from types to schemas ----

// The types of each method's parameters and result: the protocol declares, in a namespace each,
// `const method: '…'` and `const type: ProtocolRequestType<Params, Result, …>`.
function* methods() {
    const folder = path.join(here, 'node_modules', protocol, 'lib/common')
    for (const name of fs.readdirSync(folder).filter(name => /^protocol.*\.d\.ts$/.test(name))) {
        const text = fs.readFileSync(path.join(folder, name), 'utf8')
        const file = ts.createSourceFile(name, text, ts.ScriptTarget.Latest, true)
        for (const space of file.statements.filter(ts.isModuleDeclaration)) {
            const constants = space.body.statements.filter(ts.isVariableStatement)
            const declared = constants.flatMap(constant => constant.declarationList.declarations)
            const typeOf = name => declared.find(one => one.name.getText() === name)?.type
            const method = typeOf('method')?.literal?.text
            const given = typeOf('type')?.typeArguments ?? []
            switch (typeOf('type')?.typeName?.getText()) {
                case 'ProtocolRequestType':
                    yield [`${method} params`, given[0]]
                    yield [`${method} result`, given[1]]
                    break
                case 'ProtocolRequestType0':
                    yield [`${method} result`, given[0]]
                    break
                case 'ProtocolNotificationType':
                    yield [`${method} params`, given[0]]
                    break
            }
        }
    }
}

// The names of the types that a type is made of.
function* names(type) {
    if (ts.isTypeReferenceNode(type)) yield type.typeName.getText().split('.')[0]
    const parts = []
    type.forEachChild(part => void parts.push(part))
    for (const part of parts) yield* names(part)
}

// A schema for each message, by its method and whether it is the parameters or the result.
function schemas() {
    const all = [...methods()]
    const used = new Set(all.flatMap(([, type]) => [...names(type)]))
    // What a method does not return is null on the wire.
    const members = all.map(([name, type]) => `    '${name}': ${type.getText().replace(/\bvoid\b/g, 'null')}`)
    const file = path.join(here, 'messages.ts')
    fs.writeFileSync(file, [
        `import type { ${[...used].join(', ')} } from '${protocol}'`,
        `import type { Ours } from './ours.js'`,
        `export interface Messages extends Ours {`,
        ...members,
        `}`,
    ].join('\n'))
    const tsconfig = path.join(here, 'tsconfig.json')
    const schema = createGenerator({ path: file, tsconfig, type: 'Messages', additionalProperties: false })
        .createSchema('Messages')
    const ajv = new Ajv({ strict: false, allErrors: false, verbose: false })
    ajv.addSchema(schema, 'protocol')
    return name => name in schema.definitions.Messages.properties
        && ajv.getSchema(`protocol#/definitions/Messages/properties/${encodeURIComponent(name.replaceAll('~', '~0').replaceAll('/', '~1'))}`)
}

// ---- what no schema of these says ----

// A number in the protocol is whole, and none but an error's code and a version are below zero.
// The types call them all `number`.
function oddNumber(value, key) {
    if (typeof value === 'number') {
        const least = ['code', 'version'].includes(key) ? -(2 ** 31) : 0
        return !Number.isInteger(value) || value < least || value > 2 ** 31 - 1
    }
    return value !== null && typeof value === 'object'
        && Object.entries(value).some(([key, value]) => oddNumber(value, key))
}

// The end of a range is not before its start.
function oddRange(value) {
    if (value === null || typeof value !== 'object') return false
    const { start, end } = value
    if (start?.line > end?.line || start?.line === end?.line && start?.character > end?.character) return true
    return Object.values(value).some(oddRange)
}

function validator() {
    const schemaOf = schemas()
    // The complaint about a message, if there is one.
    return ({ method, message }) => {
        if ('error' in message) {
            const { code, message: words, data, ...more } = message.error
            const fine = Number.isInteger(code) && typeof words === 'string' && Object.keys(more).length === 0
            return fine ? undefined : 'an error of another form'
        }
        const what = 'method' in message ? 'params' : 'result'
        const value = message[what]
        const schema = schemaOf(`${method} ${what}`)
        if (!schema) return what === 'params' && value === undefined ? undefined : 'unknown to the protocol'
        if (!schema(value)) return schema.errors.map(error => `${error.instancePath} ${error.message} ${JSON.stringify(error.params)}`).join('; ')
        // The rows of a curve are the one thing that is measured.
        if (method !== 'bitepoint/curve' && oddNumber(value)) return 'a number that is none of the protocol'
        if (oddRange(value)) return 'a range that ends before it starts'
    }
}

// ---- a validator that stops nothing would be none ----

function proveItself(complaint) {
    const range = { start: { line: 1, character: 2 }, end: { line: 1, character: 4 } }
    const contents = { kind: 'markdown', value: '**bore**' }
    const answer = (method, result) => ({ method, message: { jsonrpc: '2.0', id: 1, result } })
    const notice = (method, params) => ({ method, message: { jsonrpc: '2.0', method, params } })
    const fine = [
        answer('textDocument/hover', { contents, range }),
        answer('textDocument/hover', null),
        answer('shutdown', null),
        notice('textDocument/publishDiagnostics', { uri: 'x:', version: -1, diagnostics: [] }),
        { method: null, message: { jsonrpc: '2.0', id: null, error: { code: -32700, message: 'what?' } } },
    ]
    const wrong = [
        answer('textDocument/hover', { contents, range, extra: 1 }),
        answer('textDocument/hover', { contents, range: { ...range, extra: 1 } }),
        answer('textDocument/hover', { range }),
        answer('textDocument/hover', { contents: 3 }),
        answer('textDocument/hover', { contents, range: { start: { line: 1.5, character: 0 }, end: range.end } }),
        answer('textDocument/hover', { contents, range: { start: { line: -1, character: 0 }, end: range.end } }),
        answer('textDocument/hover', { contents, range: { start: range.end, end: range.start } }),
        answer('textDocument/none', null),
        answer('bitepoint/sheet', { html: null, extra: 1 }),
        notice('textDocument/publishDiagnostics', { uri: 'x:', diagnostics: [{ range }] }),
        notice('window/logMessage', { type: 'error', message: '' }),
        notice('$/progress', { token: 1, value: { kind: 'other' } }),
        { method: null, message: { jsonrpc: '2.0', id: null, error: { code: 'x', message: 'what?' } } },
    ]
    for (const one of fine) assert.equal(complaint(one), undefined, JSON.stringify(one))
    for (const one of wrong) assert.notEqual(complaint(one), undefined, JSON.stringify(one))
}

// ---- the sessions ----

const complaint = validator()
proveItself(complaint)
const folder = process.argv[2]
const sessions = fs.readdirSync(folder).filter(name => name.endsWith('.jsonl'))
let [seen, wrong] = [0, 0]
for (const name of sessions) {
    const lines = fs.readFileSync(path.join(folder, name), 'utf8').split('\n').filter(Boolean)
    for (const line of lines) {
        seen += 1
        const why = complaint(JSON.parse(line))
        if (why === undefined) continue
        wrong += 1
        console.log(`${name}: ${why}\n  ${line.slice(0, 500)}`)
    }
}
console.log(`${seen} messages of ${sessions.length} sessions, ${wrong} of them wrong`)
process.exit(wrong > 0 || seen === 0 ? 1 : 0)
