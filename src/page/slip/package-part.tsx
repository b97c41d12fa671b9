import type { JudgedPackage } from '../../core/guide/package-question.ts';
import type { PartComparison } from '../../core/model/panel-identity.ts';
import { Words } from '../sheet/marks.tsx';
import { Part } from '../sheet/part.tsx';
import { answers, slip, write } from '../state.ts';

const mostShown = 12;

/** The packages at hand: what fits first, the newest of it on top; near misses with the part that differs. */
export function PackagePart() {
  const { packages, label } = slip.value;
  const shown = packages.slice(0, mostShown);
  return (
    <Part number={3} title="The package">
      {label.reading.normalised === '' ? (
        <p class="quiet">Which package fits is said when the label stands above.</p>
      ) : shown.length === 0 ? (
        <p>No package is on the shelf, in the download folder, or where the desk was started.</p>
      ) : (
        <fieldset class="choices packages">
          <legend>On the shelf, in the download folder and here, what fits first</legend>
          {shown.map((judged) => (
            <PackageLine key={judged.found.path} judged={judged} />
          ))}
        </fieldset>
      )}
      {packages.length > shown.length ? <p>{packages.length - shown.length} more differ from the label.</p> : null}
    </Part>
  );
}

function PackageLine({ judged: { found, fit } }: { judged: JudgedPackage }) {
  const { path, name, place } = found;
  return (
    <label class={`package ${fit.answer}`}>
      <input
        type="radio"
        name="package"
        value={path}
        checked={answers.value.package === path}
        disabled={fit.answer === 'differs'}
        onChange={() => write({ package: path })}
      />
      <span>
        <b>
          <Words>{name}</Words>
        </b>{' '}
        <span class="quiet">{place}</span>
        <br />
        {fitWords[fit.answer]}
        {fit.parts.map((part) => (
          <PartWords key={part.part} part={part} />
        ))}
      </span>
    </label>
  );
}

const fitWords = {
  fits: '✓ fits: ',
  differs: '✗ for another panel: ',
  'cannot-tell': '? its name does not settle it: ',
};

function PartWords({ part: { part, label = 'not said', other = 'not said', relation } }: { part: PartComparison }) {
  return (
    <span class={`part-words ${relation}`}>
      {part} {relation === 'equal' ? other : `${other}, but the label says ${label}`}
      {relation === 'misread' ? ' (they look alike)' : ''}{' '}
    </span>
  );
}
