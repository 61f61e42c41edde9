// The messages that are not the protocol's but ours, as editors/README.md documents them.

import type { Range, WorkDoneProgressBegin, WorkDoneProgressEnd, WorkDoneProgressReport } from 'vscode-languageserver-protocol'

export interface Ours {
    'bitepoint/curve result': Curve | null
    'bitepoint/sheet result': { html: string | null } | null
    'bitepoint/worked params': { uri: string; version: number }
    // The protocol leaves open what progress says; ours is always of work done.
    '$/progress params': {
        token: number | string
        value: WorkDoneProgressBegin | WorkDoneProgressReport | WorkDoneProgressEnd
    }
}

interface Curve {
    version: number | null
    system: string | null
    title: string | null
    verdict?: string
    standing?: 'error' | 'warning' | 'none'
    columns: { name: string; unit: string; label: string }[]
    rows: (number | null)[][]
    svg?: string
    why?: string
    findings: { severity: 'error' | 'warning' | 'info' | 'hint'; check: string; message: string; range?: Range }[]
}
