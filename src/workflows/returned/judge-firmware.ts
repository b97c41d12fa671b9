import { isBeingPrepared } from '../../core/checks/returned/check-clearing.ts';
import { checkWhole } from '../../core/checks/returned/check-returned.ts';
import { checkMounts } from '../../core/checks/stick/check-condition.ts';
import { checkManifest } from '../../core/checks/verify/check-record.ts';
import { type Finding, finding } from '../../core/findings/finding.ts';
import type { Tell } from '../../core/report/events.ts';
import { openAgain } from '../stick/check-same-stick.ts';
import type { StickSurvey } from '../stick/survey-stick.ts';
import { type VerifyRequest, verifyStick } from '../verify-stick.ts';
import type { ReturnedPorts } from './returned-ports.ts';

interface Judged {
  readonly findings: readonly Finding[];
  readonly filesRead: number;
  readonly bytesRead: number;
}

/** What verify says of these is said here in the words of a stick that comes back. */
const saidElsewhere: ReadonlySet<string> = new Set([
  'verify/unexpected',
  'verify/visited-a-panel',
  'verify/system-junk',
  'verify/root-not-empty',
  'verify/replugged',
]);

/** Whether the firmware is still what it was. A stick that comes back was out since it was written, so its content is the medium's. */
export async function judgeFirmware(
  { target, label, mode, quick, sealFrom }: Omit<VerifyRequest, 'replugged'>,
  survey: StickSurvey,
  ports: ReturnedPorts,
  running: { readonly tell: Tell; readonly signal: AbortSignal },
): Promise<Judged> {
  if (survey.manifest.state !== 'whole') {
    const findings = [...checkMounts(target, survey.entries), ...checkUnmade(target, survey)];
    return { findings, filesRead: 0, bytesRead: 0 };
  }
  const verified = await verifyStick(
    { target, label, mode, quick, replugged: true, sealFrom },
    { ...ports, openVolume: openAgain(ports.openVolume, survey.facts) },
    running,
  );
  const findings = verified.findings.filter(({ code }) => !saidElsewhere.has(code)).map(asDamage);
  const isChanged = findings.some(({ code }) => /^verify\/(missing|changed|unreadable)$/.test(code));
  const { filesRead, bytesRead } = verified;
  const whole = isChanged ? [] : checkWhole(target, survey.manifest.manifest, filesRead);
  return { findings: [...findings, ...whole], filesRead, bytesRead };
}

const asDamage = (found: Finding): Finding =>
  found.code === 'stick/needs-repair' ? { ...found, code: 'returned/damaged' } : found;

/** There is no manifest that counts. */
function checkUnmade(target: string, { manifest, entries, known }: StickSurvey): readonly Finding[] {
  if (isBeingPrepared(entries)) return [finding('returned/preparation-unfinished', target)];
  if (known === undefined || manifest.state !== 'none') return checkManifest(target, manifest, entries);
  const left = new Set(known.manifest.files.map(({ path }) => path));
  return [
    finding('returned/clearing-unfinished', target, { files: entries.filter(({ path }) => left.has(path)).length }),
  ];
}
