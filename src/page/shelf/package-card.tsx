import { readPackageName } from '../../core/label/read-label.ts';
import type { ShelvedPackage } from '../../core/shelf/shelf-record.ts';
import { countInWords, roundedSize } from '../../core/text/words.ts';
import { Stamp, Words } from '../sheet/marks.tsx';
import { desk } from '../state.ts';

/** A package as an index card: whose panels, which build, where from, and what was found when it was added. */
export function PackageCard({ shelved: { record } }: { shelved: ShelvedPackage }) {
  const { name, bytes, sha256, addedAt, from, note, signature, result } = record;
  const readings = readPackageName(name, desk.value?.families ?? []).readings;
  const [reading] = readings;
  return (
    <li class="index-card">
      <h3>
        <Words>{name}</Words>
      </h3>
      <Stamp verdict={result.verdict} />
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
    </li>
  );
}

const signatureWords = {
  none: 'none',
  intact: 'intact',
  unchecked: 'could not be checked',
};
