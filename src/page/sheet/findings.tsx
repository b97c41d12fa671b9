import type { ComponentChildren } from 'preact';
import { entryOf, isFindingCode } from '../../core/findings/catalogue.ts';
import { type Finding, severityOf, textsOf } from '../../core/findings/finding.ts';
import type { Severity } from '../../core/model/catalogue-entry.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import { inWindow } from '../../core/text/in-window.ts';

/** As a document has it; `seen` and the like are the catalogue's words. */
export type FindingSeen = ReportDocument['findings'][number];

/** One that the page itself judged. */
export const asSeen = (found: Finding): FindingSeen => ({
  code: found.code,
  severity: severityOf(found),
  subject: found.subject,
  facts: found.facts,
  ...textsOf(found),
});

const severityWords: Readonly<Record<Severity, string>> = {
  stop: 'Stop',
  unproven: 'Unproven',
  caution: 'Caution',
  note: 'Note',
};

interface FindingsWords {
  readonly findings: readonly FindingSeen[];
  /** What can be done about one, below it. */
  readonly cure?: ((found: FindingSeen) => ComponentChildren) | undefined;
}

/** What follows from another stands below it, folded; so do notes, where something else is to be read first. */
export function Findings({ findings, cure }: FindingsWords) {
  const causes = findings.filter(({ followsFrom }) => followsFrom === undefined);
  const notes = causes.filter(({ severity }) => severity === 'note');
  if (findings.length === 0) return null;
  const blocks = (some: readonly FindingSeen[]) => (
    <ul class="findings">
      {some.map((cause, at) => (
        <FindingBlock
          key={`${cause.code} ${at}`}
          found={cause}
          follows={findings.filter(({ followsFrom }) => followsFrom === cause.code)}
          cure={cure}
        />
      ))}
    </ul>
  );
  const isFew = causes.length === 1;
  return (
    <>
      {blocks(isFew ? causes : causes.filter(({ severity }) => severity !== 'note'))}
      {isFew || notes.length === 0 ? null : (
        <details class="notes">
          <summary>
            {notes.length} {notes.length === 1 ? 'note' : 'notes'}: what was looked at and is as it should be
          </summary>
          {blocks(notes)}
        </details>
      )}
    </>
  );
}

interface BlockWords {
  readonly found: FindingSeen;
  readonly follows: readonly FindingSeen[];
  readonly cure: FindingsWords['cure'];
}

/** What the code of another finding means, where this one names it: whoever carries a doubt on gives its code alone. */
function Meanings({ facts }: { facts: FindingSeen['facts'] }) {
  const named: readonly unknown[] = Object.values((facts ?? {}) as object).flat();
  const codes = [...new Set(named.filter((one): one is string => typeof one === 'string'))].filter(isFindingCode);
  return (
    <>
      {codes.map((code) => {
        const { title, why, todo } = entryOf(code);
        return (
          <details key={code}>
            <summary>
              What <code>{code}</code> means
            </summary>
            <p>
              <b>{title}.</b> {why}
            </p>
            {typeof todo === 'string' ? (
              <p class="lines">
                <b>To do:</b> {inWindow(todo)}
              </p>
            ) : null}
          </details>
        );
      })}
    </>
  );
}

function FindingBlock({ found, follows, cure }: BlockWords) {
  const isLoud = found.severity === 'stop' || found.severity === 'unproven';
  return (
    <li class={`finding ${found.severity}`}>
      <p class="finding-title">
        <b>{severityWords[found.severity]}</b>: {found.title} <code>{found.code}</code>
      </p>
      <p class="lines">{inWindow(found.seen)}</p>
      {isLoud ? (
        <p>
          <b>At the panel:</b> {found.why}
        </p>
      ) : null}
      <p class="lines">
        <b>To do:</b> {inWindow(found.todo)}
      </p>
      {found.acceptedBecause === undefined ? null : (
        <p>
          <b>Accepted:</b> <bdi>{found.acceptedBecause}</bdi>
        </p>
      )}
      <Meanings facts={found.facts} />
      {cure?.(found)}
      {follows.length === 0 ? null : (
        <details>
          <summary>and what follows from it ({follows.length})</summary>
          <Findings findings={follows.map(({ followsFrom: _, ...rest }) => rest)} />
        </details>
      )}
    </li>
  );
}
