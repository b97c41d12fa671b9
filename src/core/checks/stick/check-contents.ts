import type { Content } from '../../contents/classify-contents.ts';
import { type ContentKind, confusesPanel, onlyBothers } from '../../contents/content-kinds.ts';
import { isPutAway } from '../../contents/firmware-signs.ts';
import { type Finding, finding } from '../../findings/finding.ts';
import type { ManifestReading } from '../../manifest/build-manifest.ts';
import type { LayoutPlan } from '../../model/layout-plan.ts';
import type { LeftoverPolicy } from '../../model/mode.ts';
import type { FileGlance } from '../../model/stick-facts.ts';
import { isSameLabel } from '../../text/label-text.ts';

export interface ContentsInput {
  readonly target: string;
  readonly contents: readonly Content[];
  readonly plan: LayoutPlan;
  /** What a look into the files showed that are not known. */
  readonly glances: ReadonlyMap<string, FileGlance>;
  readonly manifest: ManifestReading;
  /** The one that it is prepared for now, normalised. */
  readonly label: string;
  readonly policy: LeftoverPolicy;
  readonly strictRoot: boolean;
}

/** What lies on the stick already. What the plan clears away is in the plan, and no finding of its own. */
export function checkContents(input: ContentsInput): readonly Finding[] {
  const { target, contents, manifest } = input;
  const found = input.policy === 'stop' ? checkInTheWay(input) : [];
  const staying = (...kinds: readonly ContentKind[]): readonly string[] =>
    kinds.flatMap((kind) => (confusesPanel(kind, input.strictRoot) ? [] : pathsOf(contents, kind)));
  const junk = staying('desk-mark', 'desk-bin');
  const traces = staying('panel-mark');
  const damaged = pathsOf(contents, 'damaged');
  return [
    ...found,
    ...checkEarlierLabel(input),
    ...checkAside(input),
    ...checkUnseen(input),
    ...(damaged.length > 0 ? [finding('stick/damaged-since', target, { paths: damaged })] : []),
    ...(manifest.state === 'broken' ? [finding('stick/manifest-broken', target, { problem: manifest.problem })] : []),
    ...(traces.length > 0 ? [finding('stick/has-been-in-a-panel', target, { paths: traces })] : []),
    ...(junk.length > 0 ? [finding('stick/system-junk', target, { paths: junk })] : []),
  ];
}

/** Firmware that was set aside, now or before, stays on the stick. */
function checkAside({ target, plan, glances }: ContentsInput): readonly Finding[] {
  const moving = plan.items.flatMap((item) => (item.action === 'set-aside' && isPutAway(item.to) ? [item.to] : []));
  const there = [...glances.keys()].filter(isPutAway);
  const paths = [...moving, ...there];
  return paths.length > 0 ? [finding('stick/firmware-set-aside', target, { paths })] : [];
}

/** Of what stays, the files that could not be looked into as far as was wished. */
function checkUnseen({ target, plan, glances }: ContentsInput): readonly Finding[] {
  const going = new Set(plan.items.flatMap((item) => (item.action === 'remove' ? [item.path] : [])));
  const paths = [...glances].filter(([path, { whole }]) => !whole && !going.has(path)).map(([path]) => path);
  return paths.length > 0 ? [finding('stick/not-looked-into', target, { paths })] : [];
}

/** The same files as before, for another label: no leftover stops it, but a tag may hang on the stick. */
function checkEarlierLabel({ target, contents, manifest, label: asked }: ContentsInput): readonly Finding[] {
  if (manifest.state !== 'whole' || pathsOf(contents, 'earlier-preparation').length > 0) return [];
  const { label, stick } = manifest.manifest;
  if (isSameLabel(label.normalised, asked)) return []; // another archive or mode, and the tag is still right
  return [finding('stick/other-label-before', target, { label: label.text, stickCode: stick })];
}

function checkInTheWay({ target, contents, manifest, strictRoot }: ContentsInput): readonly Finding[] {
  const found: Finding[] = [];
  const of = (kind: ContentKind): readonly string[] => pathsOf(contents, kind);
  const earlier = of('earlier-preparation');
  if (earlier.length > 0 && manifest.state === 'whole') {
    const { label, archive, mode } = manifest.manifest;
    found.push(
      finding('stick/earlier-preparation', target, { label: label.text, archive: archive.name, mode, paths: earlier }),
    );
  }
  const firmware = contents
    .filter(({ kind, sign }) => kind === 'other-firmware' && sign === undefined)
    .map(({ path }) => path);
  if (firmware.length > 0) found.push(finding('stick/other-firmware', target, { paths: firmware }));
  const inside = contents.flatMap(({ path, sign }) => (sign === undefined ? [] : [{ path, sign }]));
  if (inside.length > 0) found.push(finding('stick/firmware-inside', target, { found: inside }));
  if (of('same-name').length > 0) found.push(finding('stick/name-taken', target, { paths: of('same-name') }));
  if (of('extra').length > 0) found.push(finding('stick/extra-in-firmware-folder', target, { paths: of('extra') }));
  if (of('twin').length > 0) found.push(finding('stick/hidden-twins', target, { paths: of('twin') }));
  const rest = strictRoot ? contents.filter(({ kind }) => onlyBothers(kind)).map(({ path }) => path) : [];
  if (rest.length > 0) found.push(finding('stick/root-not-empty', target, { paths: rest }));
  return found;
}

const pathsOf = (contents: readonly Content[], kind: ContentKind): readonly string[] =>
  contents.filter((content) => content.kind === kind).map(({ path }) => path);
