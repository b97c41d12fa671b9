import { readPackageName } from '../../core/label/read-label.ts';
import type { BuildOrder } from '../../core/model/build.ts';
import type { PackageReading } from '../../core/model/panel-identity.ts';
import { compareRunning } from '../../core/shelf/find-steps.ts';
import type { ShelvedPackage } from '../../core/shelf/shelf-record.ts';
import { countInWords, roundedSize } from '../../core/text/words.ts';
import { Words } from '../sheet/marks.tsx';
import { attempt, desk } from '../state.ts';
import { ask } from '../talk.ts';

interface CardFacts {
  readonly shelved: ShelvedPackage;
  /** Of those for exactly the same panels. */
  readonly isNewest: boolean;
  /** The build that a panel runs; empty where nobody said. */
  readonly running: string;
}

/** A package as an index card: whose panels, which build, where from, and what was found when it was added. */
export function PackageCard({ shelved, isNewest, running }: CardFacts) {
  const { record } = shelved;
  const { name, bytes, sha256, addedAt, from, note, signature, result } = record;
  const named = readPackageName(name, desk.value?.families ?? []);
  const { readings } = named;
  const [reading] = readings;
  return (
    <li class="index-card">
      <h3>
        <Words>{name}</Words>
      </h3>
      <p>
        <b>{isNewest ? '★ The newest here for its panels. ' : ''}</b>
        {result.verdict === 'ready' ? 'Nothing was open when it was added.' : 'UNPROVEN when it was added.'}
      </p>
      {reading === undefined || readings.length > 1 ? (
        <p>No one family here reads the name.</p>
      ) : (
        <p>
          <b>{reading.family.title}</b>:{' '}
          {reading.agree
            .filter((part) => reading.parts[part] !== undefined)
            .map((part) => `${part} ${reading.parts[part]}`)
            .join(', ')}
          {reading.build === undefined ? '' : `; build ${reading.build}`}
        </p>
      )}
      {running.trim() === '' ? null : <Compared running={running.trim()} named={named} />}
      <dl>
        <dt>Added</dt>
        <dd>{addedAt.slice(0, 10)}</dd>
        <dt>Size</dt>
        <dd>{roundedSize(bytes)}</dd>
        <dt>From</dt>
        <dd>{from === null ? 'not said' : <Words>{from}</Words>}</dd>
        <dt>Signature</dt>
        <dd>{signatureWords[signature.state]}</dd>
        <dt>SHA-256</dt>
        <dd>
          <code>{sha256}</code>
        </dd>
      </dl>
      {note === null ? null : (
        <details>
          <summary>The note on it</summary>
          <p class="lines">
            <Words>{note}</Words>
          </p>
        </details>
      )}
      {result.findings.length === 0 ? null : (
        <details>
          <summary>{countInWords(result.findings.length, 'finding')} when it was added</summary>
          <ul>
            {result.findings.map(({ code, title, seen }, at) => (
              <li key={`${code} ${at}`}>
                <b>{title}</b> {seen} <code>{code}</code>
              </li>
            ))}
          </ul>
        </details>
      )}
      <button
        type="button"
        aria-label={`Take it off the shelf: ${name}`}
        onClick={() => void attempt(() => ask('POST', '/api/shelf/remove', { id: shelved.id }))}
      >
        Take it off the shelf
      </button>
    </li>
  );
}

const orderWords: Readonly<Record<BuildOrder, string>> = {
  newer: 'newer than what runs there',
  older: 'OLDER than what runs there',
  same: 'the build that runs there',
  'cannot-order': 'nobody can say which of the two is newer',
};

/** As `compare` does, from the name alone. */
function Compared({ running, named }: { running: string; named: PackageReading }) {
  const { order, steps } = compareRunning(running, named, undefined);
  const first = steps.length > 1 ? `; first ${steps.map(({ build }) => build).join(', then ')}` : '';
  return (
    <p class="compared-build">
      {running}: {order === undefined ? 'the two cannot be compared' : orderWords[order]}
      {first}
    </p>
  );
}

const signatureWords = {
  none: 'none',
  intact: 'intact',
  unchecked: 'could not be checked',
};
