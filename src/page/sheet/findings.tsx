import type { Severity } from '../../core/model/catalogue-entry.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';

/** As a document has it; `seen` and the like are the catalogue's words. */
export type FindingSeen = ReportDocument['findings'][number];

const severityWords: Readonly<Record<Severity, string>> = {
  stop: 'Stop',
  unproven: 'Unproven',
  caution: 'Caution',
  note: 'Note',
};

/** What follows from another stands below it, folded. */
export function Findings({ findings }: { findings: readonly FindingSeen[] }) {
  const causes = findings.filter(({ followsFrom }) => followsFrom === undefined);
  if (findings.length === 0) return null;
  return (
    <ul class="findings">
      {causes.map((cause, at) => (
        <FindingBlock
          key={`${cause.code} ${at}`}
          found={cause}
          follows={findings.filter(({ followsFrom }) => followsFrom === cause.code)}
        />
      ))}
    </ul>
  );
}

function FindingBlock({ found, follows }: { found: FindingSeen; follows: readonly FindingSeen[] }) {
  const isLoud = found.severity === 'stop' || found.severity === 'unproven';
  return (
    <li class={`finding ${found.severity}`}>
      <p class="finding-title">
        <b>{severityWords[found.severity]}</b> {found.title} <code>{found.code}</code>
      </p>
      <p class="lines">{found.seen}</p>
      {isLoud ? (
        <p>
          <b>At the panel:</b> {found.why}
        </p>
      ) : null}
      <p class="lines">
        <b>To do:</b> {found.todo}
      </p>
      {found.acceptedBecause === undefined ? null : (
        <p>
          <b>Accepted:</b> {found.acceptedBecause}
        </p>
      )}
      {follows.length === 0 ? null : (
        <details>
          <summary>and what follows from it ({follows.length})</summary>
          <Findings findings={follows.map(({ followsFrom: _, ...rest }) => rest)} />
        </details>
      )}
    </li>
  );
}
