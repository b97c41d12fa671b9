import { Option } from '@commander-js/extra-typings';
import type { ModeRules } from '../../core/model/family.ts';
import { modes } from '../../core/model/mode.ts';
import type { VerifyReport } from '../../core/report/reports.ts';
import type { Ports } from '../../workflows/ports.ts';
import { familiesFor, fileNamed } from '../desk.ts';
import { command } from '../frame/command.ts';
import { exitCodeOf } from '../frame/exit-codes.ts';
import { json, oneOf } from '../words.ts';
import { exitCodeOfReturned, type ReturnedAnswer, verifyReturned } from './verify-returned.ts';

/** Words that only a stick which came back has use for. */
const back = { returned: true };

export const verify = command({
  words: (it) =>
    it
      .description(
        'Compares a stick with its manifest, from names and sizes to all content. Needs nothing but the stick.',
      )
      .argument('<target>', 'mounted folder, drive letter, image file or device')
      .option('-l, --label <text>', 'the label of the panel it is about to go to')
      .addOption(
        new Option('-m, --mode <mode>', 'what you are about to do; a stick prepared for the other mode is stopped')
          .choices(modes)
          .argParser(oneOf(modes)),
      )
      .option('--quick', 'names and sizes only; the answer is at best unproven')
      .option('--seal-from <file>', 'take only sticks sealed by the desk with this public key')
      .option('--replugged', 'you pulled the stick and plugged it in again since it was written')
      .option('--steps', 'say what to do at the panel as well, as the card says it')
      .option('--returned', 'it came back from a panel: say what was left on it, and whether it was changed')
      .addOption(
        new Option('--clear', 'show what of a returned stick would go, ask, and clear it for its next job').implies(
          back,
        ),
      )
      .addOption(new Option('--keep-left <dir>', 'copy what a panel left to a folder at the desk first').implies(back))
      .addOption(
        new Option('-y, --yes', 'agree in advance to the clearing, also of what is no removable drive').implies(back),
      )
      .addOption(new Option('--round <dir>', 'note it in this round (default: STICKWRIGHT_ROUND)').implies(back))
      .addOption(new Option('--who <name>', 'whose name stands in the note (default: STICKWRIGHT_WHO)').implies(back))
      .addOption(json()),
  examples: [
    'stickwright verify /media/stick --label "K2-second 75/5B" --mode recovery',
    'stickwright verify E: --quick',
    'stickwright verify E: --returned',
    'stickwright verify E: --returned --clear --keep-left "logs of Room 2.14"',
  ],
  run: async (target, options, frame): Promise<Verified | ReturnedAnswer> => {
    if (options.returned) return await verifyReturned(target, options, frame);
    const { isSignedBy, trustedKeys } = await import('../../io/files/desk-key.ts');
    const { nodeDigesting } = await import('../../io/digest/node-digest.ts');
    const { auditMediumAt } = await import('../../io/medium/audit-medium-at.ts');
    const { openVolume } = await import('../../io/volume/open-volume.ts');
    const { verifyStick } = await import('../../workflows/verify-stick.ts');
    const { label, mode, quick, replugged, sealFrom } = options;
    const request = {
      target,
      label,
      mode,
      quick: quick === true,
      replugged: replugged === true,
      sealFrom: trustedKeys(sealFrom && (await fileNamed(sealFrom)), process.env),
    };
    const ports = { openVolume, digesting: nodeDigesting, isSignedBy, auditMedium: auditMediumAt, lookInto };
    const report = await verifyStick(request, ports, frame.atWork());
    return { ...report, rules: options.steps === true ? await rulesOf(report) : undefined };
  },
  exitCode: (report) => ('clearing' in report ? exitCodeOfReturned(report) : exitCodeOf(report.verdict)),
  text: async (report, look) =>
    'clearing' in report
      ? report.inWords
      : (await import('../../render/text/render-report.ts')).renderVerify(report, report.rules, look),
  json: async (report, exitCode) =>
    'clearing' in report
      ? (await import('../../render/json/stick-documents.ts')).returnedDocument(report, exitCode)
      : (await import('../../render/json/to-json.ts')).verifyDocument(report, exitCode),
});

interface Verified extends VerifyReport {
  /** What to do at the panel, where that was asked and the stick may go to one. */
  readonly rules: ModeRules | undefined;
}

/** What the family of the stick's label says, where this desk knows it. */
async function rulesOf({ manifest, verdict }: VerifyReport): Promise<ModeRules | undefined> {
  if (manifest === undefined || verdict === 'not-ready') return undefined;
  const { rulesOfStick } = await import('../../core/rounds/plan/usual-practice.ts');
  return rulesOfStick(manifest, (await familiesFor([])).families);
}

/** Most sticks hold nothing but what the manifest names. */
const lookInto: Ports['lookInto'] = async (volume, files, signal) =>
  files.length === 0 ? new Map() : (await import('../../io/archive/look-into.ts')).lookIntoFiles(volume, files, signal);
