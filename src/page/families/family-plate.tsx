import type { ComponentChildren } from 'preact';
import { isUnconfirmed } from '../../core/checks/fit/check-origin.ts';
import type { Family } from '../../core/model/family.ts';
import type { Parts } from '../../core/model/panel-identity.ts';
import { WipeBand, Words } from '../sheet/marks.tsx';

export const partsInWords = (parts: Parts): string =>
  Object.entries(parts)
    .map(([part, value]) => `${part} ${value}`)
    .join(', ');

/** A plate with examples of what stands on such panels, and below it what each mode says. */
export function FamilyPlate({ family: one, children }: { family: Family; children?: ComponentChildren }) {
  const { family, title, label, packages, build, modes, source } = one;
  const made = one['made-from'];
  return (
    <article class="family-plate" aria-labelledby={`family-${family}`}>
      <header>
        <h2 id={`family-${family}`}>
          <Words>{title}</Words>
        </h2>
        <p>{family}</p>
      </header>
      <Examples title="Labels" examples={label.examples} />
      {packages.map((packaged) => (
        <Examples key={packaged.pattern} title="Packages" examples={packaged.examples} />
      ))}
      <p>Builds: {build.scheme}</p>
      {Object.entries(modes).map(([mode, rules]) =>
        rules === undefined ? null : (
          <section key={mode}>
            <h3>{mode}</h3>
            <p>
              {rules['file-systems'].join(', ')}
              {rules['largest-stick'] === undefined ? '' : `; sticks of at most ${rules['largest-stick']}`};{' '}
              {rules.port}
            </p>
            {rules['keeps-data'] ? (
              <p>Keeps what is on the panel.</p>
            ) : (
              <WipeBand>Everything on the panel is wiped.</WipeBand>
            )}
          </section>
        ),
      )}
      {made !== undefined && isUnconfirmed(one) ? (
        <p>
          <b>UNPROVEN:</b> made at a desk from what lay on the table, by {made.by}. Nothing from elsewhere confirms it
          yet.
        </p>
      ) : null}
      {children}
      <p class="quiet">
        <code>{source}</code>
      </p>
    </article>
  );
}

function Examples({ title, examples }: { title: string; examples: readonly Readonly<Record<string, string>>[] }) {
  return (
    <dl class="family-examples">
      <dt class="unseen">{title}</dt>
      {examples.map(({ text = '', ...parts }) => (
        <dd key={text}>
          <code>{text}</code> {partsInWords(parts)}
        </dd>
      ))}
    </dl>
  );
}
