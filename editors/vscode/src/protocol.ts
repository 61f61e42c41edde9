// What the server and this extension say to each other beyond the Language Server Protocol.

import {
    NotificationType,
    RequestType,
    type Position,
    type Range,
    type TextDocumentIdentifier,
} from "vscode-languageclient";

export interface Column {
    name: string;
    unit: string;
    label: string;
}

/** A system over the whole travel of its pedal, or why there is nothing to show. */
export interface Curve {
    /** The version of the document that this was worked out for. */
    version: number | null;
    system: string | null;
    title: string | null;
    /** What comes of it in one line, the worst first. */
    verdict?: string | null;
    /** Whether that is bad news. */
    standing?: "error" | "warning" | "none" | null;
    columns: Column[];
    rows: (number | null)[][];
    svg?: string | null;
    why?: string | null;
    /** What is found in the system, the worst first. */
    findings?: Finding[];
}

export interface Finding {
    severity: "error" | "warning" | "info" | "hint";
    check: string;
    message: string;
    /** Where it is in the document; absent where it is in a file that this uses. */
    range?: Range;
}

export interface CurveParams {
    textDocument: TextDocumentIdentifier;
    system?: string;
    position?: Position;
}

export interface SheetParams {
    textDocument: TextDocumentIdentifier;
    system?: string;
}

export const curve = new RequestType<CurveParams, Curve | null, void>("bitepoint/curve");

export const sheet = new RequestType<SheetParams, { html: string | null } | null, void>(
    "bitepoint/sheet",
);

/** What the program says, and what it complains of. */
export interface Said {
    text: string;
    complaint: string;
}

export interface VerbParams {
    textDocument: TextDocumentIdentifier;
    /** A verb of the command line. */
    verb: string;
    system?: string;
    /** What the document said before, where that is compared. */
    before?: string;
}

/** What a verb of the command line says of a document as it stands. */
export const verb = new RequestType<VerbParams, Said | null, void>("bitepoint/verb");

/** What a word means. */
export const explanation = new RequestType<{ what: string }, Said, void>("bitepoint/explain");

/** A document has been worked out anew. */
export const worked = new NotificationType<{ uri: string; version: number | null }>(
    "bitepoint/worked",
);
