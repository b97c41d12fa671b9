import type { ReportDocument } from '../../core/report/report-schema.ts';

/** One document on one line of text, with a line break at its end. */
export const serialise = (document: ReportDocument): string => `${JSON.stringify(document)}\n`;
