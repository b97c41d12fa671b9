import { widenForPackage } from '../../core/checks/fit/find-widening.ts';
import type { JudgedPackage } from '../../core/guide/package-question.ts';
import type { PartComparison } from '../../core/model/panel-identity.ts';
import { Widen } from '../families/widen.tsx';
import { Words } from '../sheet/marks.tsx';
import { Published } from '../sheet/published.tsx';
import { AddForm } from '../shelf/add-form.tsx';
import { ShelfWork } from '../shelf/shelf-sheet.tsx';
import { answers, attempt, lookAtDesk, slip, work, write } from '../state.ts';
import { slipNames, slipOrigin } from './origin.ts';
import { packagePart, SlipPart } from './slip-part.tsx';
import { TableFamily } from './table-family.tsx';

/** More near misses than that help nobody. */
const mostNear = 5;
/** Where no family knows the label, names alone are compared, and most differ. */
const mostUnknown = 12;

/** The packages at hand: what fits first, the newest of it on top; near misses with the part that differs. */
export function PackagePart() {
  const { packages, label, chosen } = slip.value;
  const isKnown = label.family !== undefined;
  const offered = isKnown ? packages.filter(({ fit }) => fit.answer !== 'differs') : packages.slice(0, mostUnknown);
  // Packages for other kinds of panel say nothing of this one, part by part.
  const near = isKnown ? packages.filter(({ fit }) => fit.answer === 'differs' && fit.parts.length > 0) : [];
  const listed = new Set([...offered, ...near.slice(0, mostNear)]);
  const { family } = label;
  const others = packages.filter((judged) => !listed.has(judged));
  // A name that only a number of digits keeps from being read may be this panel's next build.
  const digits =
    family === undefined ? [] : others.filter(({ found }) => widenForPackage(found.name, [family]).length > 0);
  const rest = others.length - digits.length;
  return (
    <SlipPart
      number={packagePart}
      title="The package"
      entry={
        chosen === undefined || label.isNew ? undefined : (
          <>
            <Words>{chosen.found.name}</Words>, {chosen.found.place}; {fitWords[chosen.fit.answer].trim()}
          </>
        )
      }
    >
      {label.text === '' ? (
        <p class="quiet">Which package fits is said when the label stands above.</p>
      ) : (
        <>
          {offered.length === 0 ? (
            <p>
              {packages.length === 0
                ? 'No package is on the shelf, in the download folder, or where the desk was started.'
                : 'None of the packages at hand fits this label.'}
            </p>
          ) : (
            <fieldset class="choices packages">
              <legend>On the shelf, in the download folder and here, what fits first</legend>
              {offered.map((judged) => (
                <PackageLine key={judged.found.path} judged={judged} />
              ))}
            </fieldset>
          )}
          <NearMisses near={near.slice(0, mostNear)} />
          {digits.map(({ found }) => (
            <div key={found.path} class="finding stop">
              <p>
                <Words>{found.name}</Words> <span class="quiet">{found.place}</span>
              </p>
              <Widen text={found.name} />
            </div>
          ))}
          {rest > 0 ? <p class="quiet">{rest} more are for other panels.</p> : null}
        </>
      )}
      {chosen === undefined ? null : <Published origin={slipOrigin()} names={slipNames()} hasLength />}
      <AddForm />
      <Coming />
      <p>
        <button type="button" class="plain" onClick={() => void attempt(lookAtDesk)}>
          Look at the packages again
        </button>
      </p>
      <TableFamily />
    </SlipPart>
  );
}

/** What comes to the shelf just now. Work tells of itself many times a second, and this alone hears it. */
const Coming = () =>
  work.value.filter(({ kind }) => kind === 'shelf add').map((one) => <ShelfWork key={one.id} work={one} />);

/** They cannot be chosen; they say what the right one would be called. */
const NearMisses = ({ near }: { near: readonly JudgedPackage[] }) =>
  near.length === 0 ? null : (
    <details class="near-misses">
      <summary>Nearly, but for another panel ({near.length})</summary>
      <ul>
        {near.map(({ found, fit }) => (
          <li key={found.path}>
            ✗ <Words>{found.name}</Words> <span class="quiet">{found.place}</span>
            <br />
            {fit.parts
              .filter(({ relation }) => relation !== 'equal')
              .map((part) => (
                <PartWords key={part.part} part={part} />
              ))}
          </li>
        ))}
      </ul>
    </details>
  );

function PackageLine({ judged: { found, fit, copy } }: { judged: JudgedPackage }) {
  const { path, name, place } = found;
  return (
    <label class={`package ${fit.answer}`}>
      <input
        type="radio"
        name="package"
        value={path}
        checked={answers.value.package === path}
        onChange={() => write({ package: path })}
      />
      <span>
        <b>
          <Words>{name}</Words>
        </b>{' '}
        <span class="quiet">{place}</span>
        <br />
        {copy === undefined ? (
          fitWords[fit.answer]
        ) : (
          <>
            ? a second download or a copy put “{copy.mark}” into its name; give it back the name{' '}
            <Words>{copy.original}</Words>, then look again:{' '}
          </>
        )}
        {fit.parts.map((part) => (
          <PartWords key={part.part} part={part} />
        ))}
      </span>
    </label>
  );
}

const fitWords = {
  fits: '✓ fits ',
  differs: '✗ its name differs from the label: ',
  'cannot-tell': '? its name does not settle it ',
};

function PartWords({ part: { part, label = 'not said', other = 'not said', relation } }: { part: PartComparison }) {
  return (
    <span class={`part-words ${relation}`}>
      {part} {relation === 'equal' ? other : `${other}, but the label says ${label}`}
      {relation === 'misread' ? ' (they look alike)' : ''}{' '}
    </span>
  );
}
