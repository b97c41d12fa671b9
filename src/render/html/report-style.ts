/** A4, black on white; headings of tables on every page, no row cut in two. Without kerning, so that codes can be copied out of the PDF whole. */
export const reportStyle = `
@page { size: A4; margin: 14mm 13mm 16mm; @bottom-right { content: counter(page) " / " counter(pages); font: 8pt sans-serif; } }
.report { width: 184mm; font-kerning: none; font-size: 9pt; line-height: 1.32; }
.report h1 { font-size: 17pt; line-height: 1.15; margin-bottom: 1.5mm; }
.report h2 { font-size: 11.5pt; margin: 6mm 0 1.5mm; border-bottom: .6mm solid; break-after: avoid; }
.report ul { margin: 0; padding-left: 5mm; }
.report li, .report td p { margin-bottom: .8mm; white-space: pre-line; }
.glance { display: flex; flex-wrap: wrap; gap: 0; margin-top: 4mm; border: .5mm solid; }
.glance div { flex: 1; padding: 1.2mm 2.5mm; border-right: .25mm solid; min-width: 15mm; }
.glance div:last-child { border-right: 0; }
.glance dd { font-size: 15pt; font-weight: 800; line-height: 1.1; }
.report table { border-collapse: collapse; width: 100%; }
.report thead { display: table-header-group; }
.report tr { break-inside: avoid; }
.report th { text-align: left; font-size: 8pt; border-bottom: .4mm solid; padding: .6mm 1.5mm .6mm 0; vertical-align: bottom; }
.report td, .report th { overflow-wrap: break-word; }
.report td { border-bottom: .2mm solid; padding: .8mm 1.5mm .8mm 0; vertical-align: top; }
.report td:first-child { font-weight: 700; }
.report code { font-family: var(--mono); font-size: 7pt; }
.sign { break-inside: avoid; }
.sign p { margin-top: 7mm; }
.sign .line { width: 70mm; }
.sign .short { width: 30mm; }
`;
