import { signal } from '@preact/signals';
import { useEffect, useState } from 'preact/hooks';
import { isReason } from '../../core/findings/finding.ts';
import type { Family } from '../../core/model/family.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import type { WorkSeen } from '../../core/report/window-talk.ts';
import { findNewest, indexShelf, type ReadPackage } from '../../core/shelf/index-shelf.ts';
import type { ShelvedPackage } from '../../core/shelf/shelf-record.ts';
import { inWindow } from '../../core/text/in-window.ts';
import { countInWords } from '../../core/text/words.ts';
import { asInspect, asShelfAdd, asShelfList, type ShelfListDocument } from '../sheet/answers.ts';
import { Cure, type Said } from '../sheet/cure.tsx';
import { Findings } from '../sheet/findings.tsx';
import { Stamp, Words } from '../sheet/marks.tsx';
import { WorkCard } from '../sheet/work-card.tsx';
import { attempt, desk, work } from '../state.ts';
import { ask } from '../talk.ts';
import { AddForm, addAgain, canAddAgain } from './add-form.tsx';
import { PackageCard } from './package-card.tsx';

const listing = signal<ShelfListDocument | undefined>(undefined);

/** A build to compare with. */
const running = signal('');

/** Of all for exactly the same panels the newest; several where none is clearly newer. */
function newestOf(packages: readonly ShelvedPackage[], families: readonly Family[]): ReadonlySet<ShelvedPackage> {
  const groups = new Map<string, ReadPackage[]>();
  for (const one of indexShelf(packages, families).byReading.values()) {
    const [reading, ...others] = one.package.readings;
    if (reading === undefined || others.length > 0) continue;
    const key = JSON.stringify([reading.family.family, reading.agree.map((part) => [part, reading.parts[part]])]);
    groups.set(key, [...(groups.get(key) ?? []), one]);
  }
  return new Set([...groups.values()].flatMap((group) => findNewest(group).map(({ shelved }) => shelved)));
}

/** What is kept at this desk: an index card a package. */
export function ShelfSheet() {
  const seen = desk.value;
  useEffect(() => {
    if (seen?.shelf === undefined) listing.value = undefined;
    else
      void attempt(async () => {
        listing.value = asShelfList(await ask('GET', '/api/shelf'));
      });
  }, [seen]);
  const { packages = [], findings = [] } = listing.value ?? {};
  const newest = newestOf(packages, seen?.families ?? []);
  const own = work.value.filter(({ kind }) => Object.hasOwn(titles, kind));
  return (
    <div class="sheet shelf">
      <div class="sheet-head">
        <h1>Shelf</h1>
        <button
          type="button"
          disabled={
            packages.length === 0 || own.some(({ kind, state }) => kind === 'shelf check' && state === 'working')
          }
          onClick={() => void attempt(() => ask('POST', '/api/shelf/check', {}))}
        >
          Read every package again
        </button>
      </div>
      <AddForm />
      {own.length === 0 ? null : <h2 class="unseen">What was done</h2>}
      {own.map((one) => (
        <ShelfWork key={one.id} work={one} />
      ))}
      <Findings findings={findings} />
      <h2>{countInWords(packages.length, 'package')}</h2>
      {seen?.shelf === undefined ? (
        <p>There is no shelf yet: the first package that is added makes it.</p>
      ) : (
        <p class="quiet">
          In <code>{seen.shelf}</code>
        </p>
      )}
      <label>
        What a panel runs (its About page), to compare with each
        <input
          type="text"
          value={running.value}
          autocomplete="off"
          spellcheck={false}
          onInput={({ currentTarget }) => {
            running.value = currentTarget.value;
          }}
        />
      </label>
      <ul class="cards">
        {packages.map((one) => (
          <PackageCard key={one.id} shelved={one} isNewest={newest.has(one)} running={running.value} />
        ))}
      </ul>
    </div>
  );
}

const titles: Readonly<Record<string, string>> = {
  inspect: 'Looked into',
  'shelf add': 'Added',
  'shelf check': 'Read again',
  'shelf remove': 'Taken off the shelf',
};

const additionWords: Readonly<Record<string, string>> = {
  added: 'It is on the shelf now.',
  there: 'The shelf has it already.',
  restored: 'The copy on the shelf was damaged; this one took its place.',
  proven: 'It was there; what was open in its record is settled now.',
  refused: 'It is not on the shelf: what was found stops it.',
  failed: 'The tool could not go on with it.',
};

export function ShelfWork({ work: one }: { work: WorkSeen }) {
  const { answer, kind } = one;
  return (
    <WorkCard work={one} title={titles[kind] ?? kind}>
      {answer === undefined ? null : <Answer work={one} />}
    </WorkCard>
  );
}

/** A stop can be accepted here as with the command: the file is read once more, and its record tells the reason. */
function Refused({ name, findings }: { name: string; findings: ReportDocument['findings'] }) {
  const [reasons, setReasons] = useState<Readonly<Record<string, string>>>({});
  const said: Said = {
    reasonFor: (code) => reasons[code] ?? '',
    accept: (code, reason = '') => setReasons({ ...reasons, [code]: reason }),
    next: 'Read it once more',
    keptIn: "the package's record on the shelf",
  };
  const accepted = Object.fromEntries(Object.entries(reasons).filter(([, reason]) => isReason(reason)));
  return (
    <>
      <Findings findings={findings} cure={(found) => <Cure found={found} said={said} />} />
      {Object.keys(accepted).length === 0 ? null : (
        <button type="button" class="next" onClick={() => void attempt(() => addAgain(name, accepted))}>
          Read it once more, with what is accepted
        </button>
      )}
    </>
  );
}

function Answer({ work: { answer, kind } }: { work: WorkSeen }) {
  if (answer === undefined) return null;
  const { verdict, findings } = answer;
  const additions = kind === 'shelf add' ? asShelfAdd(answer).additions : [];
  return (
    <div>
      {verdict === null || kind === 'shelf remove' ? null : <Stamp verdict={verdict} />}
      {additions.map(({ archive, state, findings: found, error }) => (
        <div key={archive}>
          <p role="status">
            <Words>{archive}</Words>: {additionWords[state] ?? state}
          </p>
          {error == null ? null : <p class="notice">{inWindow(`${error.message} ${error.todo}`)}</p>}
          {state === 'refused' && canAddAgain(archive) ? (
            <Refused name={archive} findings={found} />
          ) : (
            <Findings findings={found} />
          )}
        </div>
      ))}
      {kind === 'inspect' ? <Content document={asInspect(answer)} /> : null}
      <Findings findings={findings} />
    </div>
  );
}

const Content = ({ document: { archive } }: { document: ReturnType<typeof asInspect> }) => (
  <p>
    {countInWords(archive.entries, 'entry', 'entries')}; SHA-256 <code>{archive.digests?.sha256 ?? 'not known'}</code>
  </p>
);
