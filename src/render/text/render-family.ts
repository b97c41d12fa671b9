import { changesInWords, placeInWords, type WideningPlace } from '../../core/checks/fit/find-widening.ts';
import type { Finding } from '../../core/findings/finding.ts';
import type { PackageGroup } from '../../core/guide/group-packages.ts';
import type { FamilyProposal } from '../../core/label/propose-family.ts';
import type { Family, ModeRules } from '../../core/model/family.ts';
import type { FamilyNewReport, FamilyReport } from '../../core/report/reports.ts';
import { visibleLines } from '../../core/text/visible.ts';
import { countInWords } from '../../core/text/words.ts';
import { type Look, painter, tame } from './page.ts';
import { fact } from './render-facts.ts';
import { renderFindings, renderVerdict } from './render-findings.ts';

/** One line a family. */
export function renderFamilies(families: readonly Family[], ownFolder: string, look: Look): string {
  if (families.length === 0) {
    return `There are no family files. Put them into ${tame(ownFolder)}, or make one: stickwright family new.\n`;
  }
  const widths = [
    Math.max(...families.map(({ family }) => family.length)) + 2,
    Math.max(...families.map(({ title }) => title.length)) + 2,
  ] as const;
  const lines = families.map(({ family, title, label, source }) => {
    const example = label.examples[0]?.text ?? '';
    return `  ${painter(look)('bold', tame(family).padEnd(widths[0]))}${tame(title).padEnd(widths[1])}${tame(example)}  ${tame(source)}`;
  });
  return `${lines.join('\n')}\n`;
}

const partsInWords = (parts: Readonly<Record<string, string>>): string =>
  Object.entries(parts)
    .map(([part, value]) => `${part} ${value}`)
    .join(', ');

/** What a family file says, in the order in which it is needed. */
export function renderFamily(family: Family, look: Look): string {
  const { label, packages, build, bridges = [], modes, signers = [], devices = [] } = family;
  const made = family['made-from'];
  const air = family['over-the-air'];
  const page = [
    fact('Family', `${family.family}: ${family.title}`, look),
    fact('File', family.source, look),
    fact('Label', label.pattern, look),
    ...label.examples.map(({ text, ...parts }) => fact('', `${text}  →  ${partsInWords(parts)}`, look)),
    ...Object.entries(label.absent).map(([part, value]) => fact('', `without ${part}: ${value}`, look)),
    ...Object.entries(label.where).map(([part, where]) => fact('', `${part}: ${where}`, look)),
    ...packages.flatMap(({ pattern, agree, examples }) => [
      fact('Packages', pattern, look),
      fact('', `must agree with the label: ${agree.join(', ')}`, look),
      ...examples.map(({ text, ...parts }) => fact('', `${text}  →  ${partsInWords(parts)}`, look)),
    ]),
    fact('Builds', build.scheme, look),
    ...bridges.map((bridge) => fact('Bridge', bridgeInWords(bridge), look)),
    ...signers.map((signer) => fact('Signer', signer, look)),
    ...(made === undefined
      ? []
      : [fact('Made from', `${[...made.labels, ...made.packages].join(', ')}; on the word of ${made.by}`, look)]),
    devices.length === 0 ? '' : fact('Devices', devices.join(', '), look),
    ...Object.entries(modes).map(([mode, rules]) =>
      fact(
        'Mode',
        `${mode}: ${rules['file-systems'].join(', ')}; ${rules['keeps-data'] ? 'keeps data' : 'WIPES THE PANEL'}; ${rules.port}${olderInWords(rules)}`,
        look,
      ),
    ),
    air === undefined ? '' : fact('Own update', airInWords(air), look),
  ];
  return page.join('');
}

const olderInWords = ({ 'takes-downgrade': takes }: ModeRules): string =>
  takes === undefined ? '' : `; ${takes ? 'takes' : 'refuses'} an older build`;

const airInWords = ({ steps, hours }: NonNullable<Family['over-the-air']>): string =>
  [...steps, ...(hours === undefined ? [] : [`Look again after ${hours.from} to ${hours.to} hours.`])].join(' ');

function bridgeInWords(bridge: NonNullable<Family['bridges']>[number]): string {
  const some = partsInWords(bridge.for);
  return `before ${bridge['running-before']} first take ${bridge.first}${some === '' ? '' : ` (only ${some})`}: ${bridge.because}`;
}

export function renderFamilyCheck(report: FamilyReport, look: Look): string {
  const sound = countInWords(report.families.length, 'family reads', 'families read');
  const names = report.families.map(({ family }) => family).join(', ');
  const found = report.findings.length === 0 ? '' : `${renderFindings(report.findings, look)}\n`;
  return `${fact('Checked', `${sound} all their examples${names === '' ? '' : `: ${names}`}`, look)}\n${found}${renderVerdict(report.verdict, report.findings, look)}`;
}

/** The patterns, how they read every example, the file, and what the check says of it. */
export function renderFamilyProposal({ proposal, text, findings }: FamilyNewReport, look: Look): string {
  const readings = proposal.readings.map(({ text: example, parts }) =>
    fact('', `${example}  →  ${parts === undefined ? 'NOT READ' : partsInWords(parts)}`, look),
  );
  const found = findings.length === 0 ? '' : `\n${renderFindings(findings, look)}`;
  return [
    fact('Labels', proposal.label.pattern, look),
    fact('Packages', proposal.package.pattern, look),
    fact('Agree', proposal.agree.join(', '), look),
    fact('Builds', proposal.scheme, look),
    fact('Readings', '', look).trimEnd(),
    '\n',
    ...readings,
    `\n${visibleLines(text).replace(/^(?=.)/gm, '  ')}`,
    found,
    '\n',
  ].join('');
}

/** Of a family made of what lies on the table: where it is, and how little it proves. */
export function renderTableFamily(
  { label, package: packaged, agree }: FamilyProposal,
  path: string,
  look: Look,
): string {
  return [
    '\n',
    fact('Family', path, look),
    fact('Labels', label.pattern, look),
    fact('Packages', packaged.pattern, look),
    fact('Compares', agree.length === 0 ? 'nothing: the name says nothing of the panel' : agree.join(', '), look),
    fact('Mind', 'Read its lines marked "Check" beside the maker\'s document before the next panel.', look),
  ].join('');
}

export function renderFamilyWritten({ path, verdict, findings }: FamilyNewReport, look: Look): string {
  const what = path === undefined ? 'Nothing was written. The proposal is' : `${tame(path)} was written. It is`;
  const next =
    path === undefined
      ? ''
      : fact(
          'Next',
          'Read every line marked "Check" beside the maker\'s document, then: stickwright family check',
          look,
        );
  return `${what} ${renderVerdict(verdict, findings, look)}${next}`;
}

/** Nothing where there is nothing to say. */
export const renderFamilyFindings = (findings: readonly Finding[], look: Look): string =>
  findings.length === 0 ? '' : `\n${renderFindings(findings, look)}`;

/** One line of a family file before and after, and what would be read from then on. */
export function renderWidening(place: WideningPlace, look: Look): string {
  const { before, pattern, alsoRead } = place;
  return [
    fact('File', placeInWords(place), look),
    fact('Because', changesInWords(place), look),
    fact('Now', before, look),
    fact('Then', pattern, look),
    fact('Reads too', alsoRead.length === 0 ? 'nothing else that was tried' : alsoRead.slice(0, 4).join(', '), look),
    fact('', 'and every example as before', look),
  ].join('');
}

/** The examples of each group as family new reads them; the labels are the person's to fill in. */
export function renderPackageGroups(groups: readonly PackageGroup[], look: Look): string {
  return groups
    .map(({ name, packages, parts }) => {
      const shown = packages.slice(0, 3);
      const yaml = [
        `family: ${tame(name)}`,
        `title: ${tame(name)} panels`,
        'labels:',
        '  # Fill in two plates, as they are printed, with the parts that stand in the names too.',
        '  - text: "LABEL"',
        ...(parts.length === 0 ? ['    series: "…"'] : parts.map((part) => `    ${tame(part)}: "…"`)),
        'packages:',
        ...shown.flatMap(({ text, parts: values }) => [
          `  - text: "${tame(text)}"`,
          ...Object.entries(values).map(([part, value]) => `    ${tame(part)}: "${tame(value)}"`),
        ]),
      ];
      const head = `${countInWords(packages.length, 'package')} of one kind${parts.length === 0 ? ', in which nothing varies but the build' : `; what varies: ${parts.join(', ')}`}`;
      return `${fact(name, head, look)}${yaml.map((line) => `${visibleLines(line)}\n`).join('')}`;
    })
    .join('\n')
    .concat('\nSave one with its labels filled in, then: stickwright family new --from FILE\n');
}
