import { roundedSize } from '../../core/findings/words.ts';
import type { ProveReport } from '../../core/report/medium-reports.ts';
import { exactSize, type Look } from './page.ts';
import { fact } from './render-facts.ts';
import { renderFindings, renderVerdict } from './render-findings.ts';

/** What a proof has shown, and what to do with the stick now. */
export function renderProof({ proof, findings, verdict, state, target }: ProveReport, look: Look): string {
  if (state === 'declined' || proof === undefined) return 'Nothing was written.\n';
  const speed = (bytes: number | undefined): string => (bytes === undefined ? 'unknown' : `${roundedSize(bytes)}/s`);
  const whole = proof.finished && proof.how === 'whole' && verdict === 'ready';
  return [
    fact('Proved', target, look),
    fact('', `${exactSize(proof.testedBytes)} of ${exactSize(proof.statedBytes)} written and read back`, look),
    fact('', `writes ${speed(proof.writeBytesPerSecond)}, reads ${speed(proof.readBytesPerSecond)}`, look),
    whole ? fact('', `the stick holds all of its ${exactSize(proof.statedBytes)}`, look) : '',
    proof.how === 'free-space' ? '' : fact('', 'nothing is on it now: format it before use (stickwright format)', look),
    renderFindings(findings, look),
    renderVerdict(verdict, findings, look),
  ].join('');
}
