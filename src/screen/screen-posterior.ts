import type { Bench, Run } from '../bench/bench.ts';
import { groupedBy } from '../bench/grouped.ts';
import { isZeroLoad, riseOf } from '../bench/run.ts';
import type { BenchPosterior } from '../fit/bench-posterior.ts';
import { READING } from '../fit/components.ts';
import { sensorOffset } from '../fit/cooler-runs.ts';
import { logSum } from '../numerics/log-weights.ts';
import type { NamedCause, ScreenedCause } from './causes.ts';
import { type JudgedCooler, type Judgement, judge } from './judge.ts';
import { likelyFaulty } from './likely-faulty.ts';
import { type MountOffset, mountOffsets } from './mount-offsets.ts';
import { type Parting, partingLogs, partingOfMount } from './parting.ts';
import { type CleanBench, findSuspects, mountsOf } from './suspects.ts';
import type { TellingRun } from './telling-run.ts';
import type { TypingError } from './typing.ts';
import { type EnteredTwice, enteredTwice, type TypingEvidence, typingEvidence } from './typing.ts';
import { deletedP, holm, holmOfPairs, verdictOf } from './verdict-of.ts';

export interface RunVerdict {
  run: string;
  /** ISO 5725-2: straggler for p between 1 % and 5 %, outlier below 1 %. */
  verdict: 'ok' | 'straggler' | 'outlier';
  /** Adjusted for the number of runs judged. */
  p: number;
  /** What was read less what all others predict, K. */
  residual_K: number;
  /** Standard uncertainty of that, K, the scatters included. */
  u_K: number;
  /** null: nothing is wrong. A pump counts as unexplained. */
  cause: ScreenedCause | null;
  cause_probability: number | null;
  /** As `cause`, but a pump is named. */
  likely_cause: NamedCause | null;
  /** Which slip, where `cause` is typing. */
  typing?: TypingError;
}

export interface MountVerdict extends MountOffset {
  cooler: string;
  sample: string;
  source: string;
  mount: string;
  verdict: 'ok' | 'straggler' | 'outlier';
  /** Adjusted for the number of mounts judged. */
  p: number;
  /** null: nothing is wrong. A pump counts as unexplained, with its chance. */
  cause: ScreenedCause | null;
  cause_probability: number | null;
  /** As `cause`, but a pump is named: where it is likelier than all else together. */
  likely_cause: NamedCause | null;
  /** Every cause with its chance, likeliest first; empty where nothing is wrong. */
  causes: { cause: NamedCause; probability: number }[];
  /**
   * A sentence: that the mount is one side of a pair, of which it is only the likelier culprit, with what would be the cause on the other side, and what the recorded speed of the pump says of it;
   * null where there is neither, or nothing is wrong.
   */
  remark: string | null;
  /** Where the fault sits by the logs; null where they do not tell, or nothing is wrong. */
  parting: Parting | null;
  /** The cheapest run that would tell the two likeliest causes apart; null where nothing is wrong. */
  next_run: TellingRun | null;
}

/** The verdicts on the runs and mounts of one source. */
export interface ScreenedSource {
  readonly runs: RunVerdict[];
  readonly mounts: MountVerdict[];
  readonly clean: CleanBench;
  /** Judgements of the mounts, in the order of `mounts`. */
  readonly judged: readonly Judgement[];
  readonly notes: string[];
}

/**
 * Judges every run and every mount of a source by all the others.
 *
 * The mounts are one family and the runs another, each held together by Holm's adjustment. A mount is judged by all of its runs at once,
 * along the patterns that the known faults leave; a run by its deleted residual, its mates on the mount included unless the mount as a whole
 * is strange.
 *
 * @param posteriorOfRuns  posterior of the bench with only these runs
 */
export function screenSource(
  bench: Bench,
  source: string,
  posteriorOfRuns: (runs: readonly Run[] | undefined) => BenchPosterior,
): ScreenedSource {
  const clean = findSuspects(bench, source, posteriorOfRuns);
  const screened: Screened = {
    bench,
    source,
    clean,
    coolers: new Map(clean.coolers.map((cooler) => [cooler.cooler, cooler])),
  };
  const { fittings, notes } = fittingsToJudge(screened);
  const brief = fittings.map((runs) => judgedByOthers(screened, runs, { isBrief: true }));
  const p = chancesOfMounts(screened, fittings, brief);
  const judged = fittings.map((runs, k) => {
    if (verdictOf(p[k]) === 'ok') return { judgement: brief[k] };
    const parting = partingOfMount(bench, runs, othersOf(fittings, k, clean));
    return { judgement: withParting(judgedByOthers(screened, runs), parting), parting };
  });
  const offsets = offsetsOfMounts(screened, fittings, p);
  const mounts = fittings.map((runs, k): MountVerdict => {
    const [{ cooler, sample, mount = '' }] = runs;
    const { judgement, parting } = judged[k];
    const verdict = verdictOf(p[k]);
    const isOk = verdict === 'ok';
    const other = isOk ? undefined : otherSide(screened, fittings, k, parting);
    return {
      ...{ cooler, sample, source, mount, verdict, p: p[k], ...offsets[k] },
      ...(isOk ? NO_CAUSE : leadingCause(judgement)),
      causes: isOk ? [] : causesOf(judgement),
      remark: isOk ? null : remarkOf(judgement, other, parting),
      parting: parting ?? null,
      next_run: null,
    };
  });
  const judgements = judged.map(({ judgement }) => judgement);
  const strange = new Map<Run, Judgement>();
  mounts.forEach(({ verdict }, k) => {
    if (verdict !== 'ok') for (const run of fittings[k]) strange.set(run, judgements[k]);
  });
  const runs = [...loadedRuns(screened, strange), ...zeroLoadRuns(bench, source, clean)];
  return { runs, mounts, clean, judged: judgements, notes };
}

/** A source's runs on the way through the screen. */
interface Screened {
  readonly bench: Bench;
  readonly source: string;
  readonly clean: CleanBench;
  /** By name. */
  readonly coolers: ReadonlyMap<string, JudgedCooler>;
}

/** Judges runs of one cooler by all trusted others but `mates`, which are themselves where none are named. */
function judgedByOthers(
  { clean, coolers }: Screened,
  runs: readonly Run[],
  { mates = runs, isBrief = false } = {},
): Judgement {
  const cooler = coolers.get(runs[0].cooler) as JudgedCooler;
  return judge(clean.posterior, cooler, runs, (run) => clean.isTrusted(run) && !mates.includes(run), isBrief);
}

/** The fittings of noted mounts, without runs that are strange by themselves: those do not speak for their mount. */
function fittingsToJudge({ bench, source, clean, coolers }: Screened): {
  fittings: Run[][];
  notes: string[];
} {
  const fittings: Run[][] = [];
  const notes: string[] = [];
  const lone = new Set(clean.suspects.flatMap(({ kind, runs }) => (kind === 'run' ? runs : [])));
  for (const runs of mountsOf(bench, source)) {
    const cooler = coolers.get(runs[0].cooler);
    if (!cooler || runs[0].mount === undefined) continue;
    if (cooler.data.runs.every((run) => runs.includes(run))) {
      notes.push(
        `${runs[0].cooler}: only one mount, so it cannot be checked against another mount of the same cooler; add a second`,
      );
    }
    const own = runs.filter((run) => !lone.has(run));
    fittings.push(own.length > 0 ? own : runs);
  }
  return { fittings, notes };
}

/** p of each fitting, adjusted for their number: by its own test or by all faults weighed at once, whichever is less. */
function chancesOfMounts(
  screened: Screened,
  fittings: readonly Run[][],
  judged: readonly Judgement[],
): number[] {
  const p = holmOfPairs(
    judged.map((one) => one.p),
    (k) => (mateOf(fittings, k) ? fittings[k][0].cooler : undefined),
  );
  const healthy = chancesOfHealth(screened, fittings);
  return p.map((one, k) => Math.min(one, healthy[k]));
}

/** Each fitting beside the usual ones of its cooler. */
function offsetsOfMounts({ clean, coolers }: Screened, fittings: readonly Run[][], p: readonly number[]) {
  const out = new Array<MountOffset>(fittings.length);
  for (const [name, own] of groupedBy(fittings.keys(), (k) => fittings[k][0].cooler)) {
    const rows = own.map((k) => ({ runs: fittings[k], isUsual: verdictOf(p[k]) === 'ok' }));
    const found = mountOffsets(coolers.get(name) as JudgedCooler, rows, clean.posterior.scatter.sigma);
    own.forEach((k, i) => {
      out[k] = found[i];
    });
  }
  return out;
}

/**
 * The verdicts on the runs under load. A run of a strange mount is judged without its mates and has its mount's cause; one
 * that is strange alone may also be a slip of typing, or a reading entered twice.
 *
 * @param strange  runs of strange mounts, with the judgement on the mount
 */
function loadedRuns(screened: Screened, strange: ReadonlyMap<Run, Judgement>): RunVerdict[] {
  const { bench, source, clean, coolers } = screened;
  const twice = new Map(enteredTwice(bench, source).map((one) => [one.run, one]));
  const fitted = new Map(clean.posterior.coolers.map((cooler) => [cooler.data.cooler.cooler, cooler]));
  const loads = bench.runs.filter((run) => run.source === source && !isZeroLoad(run));
  const single = loads.map((run) =>
    coolers.has(run.cooler)
      ? judgedByOthers(screened, [run], { mates: strange.get(run)?.runs, isBrief: true })
      : undefined,
  );
  const p = holmOfPairs(
    single.map((one) => one?.p ?? 1),
    () => undefined,
  );
  return loads.map((run, i): RunVerdict => {
    const again = twice.get(run);
    if (again && verdictOf(again.p) !== 'ok') return twiceVerdict(again, single[i]);
    const ofMount = strange.get(run);
    const cooler = fitted.get(run.cooler);
    const mayBeTyped = !ofMount && cooler && !clean.isTrusted(run);
    const slip = mayBeTyped ? typingEvidence(clean.posterior, cooler, bench, run) : undefined;
    const least = Math.min(p[i], slip?.p ?? 1);
    const verdict = verdictOf(least);
    const causeOf = () =>
      ofMount
        ? leadingCause(ofMount)
        : loneCause(coolers.has(run.cooler) ? judgedByOthers(screened, [run]) : undefined, slip);
    return {
      ...{ run: run.run, verdict, p: least, ...residualOf(single[i]) },
      ...(verdict === 'ok' ? NO_CAUSE : causeOf()),
    };
  });
}

/**
 * The chance that each fitting is in order, all of them weighed at once. Of the two mounts of a cooler it is the chance that both are, and it counts
 * for the likelier culprit: that the pair is odd is the finding, and its other side is not judged by it.
 */
function chancesOfHealth({ clean, coolers }: Screened, fittings: readonly Run[][]): number[] {
  const out = fittings.map(() => 1);
  const groups = [...groupedBy(fittings.keys(), (k) => fittings[k][0].cooler)];
  const likely = likelyFaulty(
    groups.map(([name, own]) => ({
      cooler: coolers.get(name) as JudgedCooler,
      mounts: own.map((k) => fittings[k]),
    })),
    clean.posterior.scatter.sigma,
  );
  groups.forEach(([name, own], c) => {
    const { healthy, allHealthy } = likely[c];
    if (own.length !== 2) {
      own.forEach((k, i) => {
        out[k] = healthy[i];
      });
      return;
    }
    if (verdictOf(allHealthy) === 'ok') return;
    const evidence = (k: number) => blamed(clean, coolers.get(name) as JudgedCooler, fittings[k]).evidence;
    const [a, b] = own;
    const suspect = own.find((k) => !clean.isTrusted(fittings[k][0]));
    out[suspect ?? (evidence(a) >= evidence(b) ? a : b)] = allHealthy;
  });
  return out;
}

/** A fitting taken as the only one that may be at fault: all other runs judge it. */
function blamed({ posterior }: CleanBench, cooler: JudgedCooler, runs: readonly Run[]): Judgement {
  return judge(posterior, cooler, runs, (run) => !runs.includes(run));
}

interface NamedVerdict {
  cause: ScreenedCause | null;
  cause_probability: number | null;
  likely_cause: NamedCause | null;
}

const NO_CAUSE: NamedVerdict = { cause: null, cause_probability: null, likely_cause: null };

/** Causes with their chances, likeliest first. */
function causesOf(judged: Judgement): { cause: NamedCause; probability: number }[] {
  return [...judged.causes]
    .map(([cause, probability]) => ({ cause, probability }))
    .sort((a, b) => b.probability - a.probability);
}

/**
 * The likeliest cause in the words that `cause` has. A pump leads only where it is likelier than all others together, and is then
 * unexplained to `cause`; where it is as likely as an interface, to which it may be alike, the interface is named and the chances of
 * both stand in `causes`.
 */
function leadingCause(judged: Judgement): NamedVerdict & { cause_probability: number } {
  const causes = causesOf(judged);
  const pump = judged.causes.get('pump') ?? 0;
  if (pump > 0.5) {
    const outside = pump + (judged.causes.get('unexplained') ?? 0);
    return { cause: 'unexplained', cause_probability: Math.min(1, outside), likely_cause: 'pump' };
  }
  for (const { cause, probability } of causes) {
    if (cause !== 'pump') return { cause, cause_probability: probability, likely_cause: cause };
  }
  return { cause: 'unexplained', cause_probability: 1, likely_cause: 'unexplained' };
}

/** The only other fitting of a cooler, `undefined` where it has none or several. */
export function mateOf(fittings: readonly (readonly Run[])[], k: number): readonly Run[] | undefined {
  const others = fittings.filter(([run], i) => i !== k && run.cooler === fittings[k][0].cooler);
  return others.length === 1 ? others[0] : undefined;
}

/** The other of two mounts as the odd one: how likely, against the one that is blamed, and by which cause. */
interface OtherSide {
  readonly mate: Run;
  readonly chance: number;
  readonly cause: NamedCause;
}

/** By the evidence against each side, the other one being in order; `undefined` where a cooler has no two mounts. */
function otherSide(
  { clean, coolers }: Screened,
  fittings: readonly (readonly Run[])[],
  k: number,
  parting: Parting | undefined,
): OtherSide | undefined {
  const mate = mateOf(fittings, k);
  if (!mate) return undefined;
  const cooler = coolers.get(mate[0].cooler) as JudgedCooler;
  const [own, other] = [fittings[k], mate].map((runs) => withParting(blamed(clean, cooler, runs), parting));
  const chance = 1 / (1 + Math.exp(own.evidence - other.evidence));
  return { mate: mate[0], chance, cause: causesOf(other)[0].cause };
}

/** What is to be said of a strange mount: that it is one side of a pair, and what the sheet says of its pump. */
function remarkOf(
  judged: Judgement,
  other: OtherSide | undefined,
  parting: Parting | undefined,
): string | null {
  const said = [
    ...(other ? [pairRemark(judged, other)] : []),
    ...pumpRemark(judged),
    ...(parting ? [partingRemark(parting)] : []),
  ];
  return said.length > 0 ? said.join('; ') : null;
}

/** What the log shows of where the fault sits, beside what each fault would show. */
function partingRemark({ run, beside, at_s, share, u, expected }: Parting): string {
  const percent = (value: number) => (100 * value).toFixed(0);
  return `by its log ${run} has moved away from ${beside} by ${percent(share)} ± ${percent(1.96 * u)} % of the final difference ${at_s.toFixed(0)} s after the load was switched on; a film of paste would by ${percent(expected.interface)} %, a sensor by all of it, a leak by ${percent(expected.leak)} % and a slow fan by ${percent(expected.airflow)} %`;
}

/** Runs of the other fittings of a cooler that are trusted. */
function othersOf(fittings: readonly (readonly Run[])[], k: number, { isTrusted }: CleanBench): Run[] {
  const [{ cooler }] = fittings[k];
  return fittings
    .filter((runs, i) => i !== k && runs[0].cooler === cooler)
    .flatMap((runs) => runs.filter(isTrusted));
}

/** With what the logs say of the causes, in their chances and in the evidence. */
function withParting(judged: Judgement, parting: Parting | undefined): Judgement {
  if (!parting) return judged;
  const logs = [...judged.causes].map(([cause, chance]) => ({
    cause,
    log: Math.log(chance) + partingLogs(parting, cause),
  }));
  const all = logSum(logs.map(({ log }) => log));
  return {
    ...judged,
    evidence: judged.evidence + all,
    causes: new Map(logs.map(({ cause, log }) => [cause, Math.exp(log - all)])),
  };
}

/**
 * That only two mounts differ, so that either may be at fault, and the likeliest cause if it is the other.
 */
function pairRemark({ runs, residual_K }: Judgement, { mate, chance, cause }: OtherSide): string {
  const [{ cooler, sample, mount }] = runs;
  const most = residual_K.reduce((a, off, i) => (Math.abs(off) > Math.abs(residual_K[a]) ? i : a), 0);
  const which = residual_K[most] > 0 ? 'the warmer' : 'the cooler of the two';
  const [own, other] = [
    { sample, mount },
    { sample: mate.sample, mount: mate.mount },
  ].map((one) => `${one.sample}/${one.mount ?? ''}`);
  const likely = chance < 0.001 ? 'below 0.1 %' : `${(100 * chance).toPrecision(2)} %`;
  return `the finding is that the only two mounts of ${cooler}, ${own} and ${other}, are ${Math.abs(residual_K[most]).toFixed(1)} K apart at ${runs[most].power_W.toFixed(0)} W; ${own}, ${which}, is only the likelier one to be at fault: if it is ${other}, the likeliest cause is ${cause} (chance ${likely})`;
}

/** A recorded speed below the usual one, in words. */
function pumpRemark({ pump }: Judgement): string[] {
  if (!pump?.isLow) return [];
  const share = Math.round((100 * pump.pump_rpm) / pump.usual_rpm);
  return [
    `the pump ran at ${share} % of its usual speed (${Math.round(pump.pump_rpm)} of ${Math.round(pump.usual_rpm)} rpm), as recorded`,
  ];
}

/** One run says next to nothing about the pattern: a cause is named only where it is likelier than all others together. */
function loneCause(
  judged: Judgement | undefined,
  slip?: TypingEvidence,
): NamedVerdict & { typing?: TypingError } {
  if (slip && slip.chance > 0.5) {
    const { kind, column, typed, meant } = slip;
    return {
      cause: 'typing',
      cause_probability: slip.chance,
      likely_cause: 'typing',
      typing: { kind, column, typed, meant },
    };
  }
  const leading = judged && leadingCause(judged);
  if (leading && leading.cause_probability > 0.5) return leading;
  return {
    cause: 'unexplained',
    cause_probability: 1 - (leading?.cause_probability ?? 0),
    likely_cause: 'unexplained',
  };
}

/** Deleted residual and its uncertainty of a single run, 0 where it was not judged. */
function residualOf(judged: Judgement | undefined): Pick<RunVerdict, 'residual_K' | 'u_K'> {
  return { residual_K: judged?.residual_K[0] ?? 0, u_K: judged?.u_K[0] ?? 0 };
}

/** A reading entered again counts twice, which nothing else shows. */
function twiceVerdict({ run, as, p }: EnteredTwice, judged: Judgement | undefined): RunVerdict {
  return {
    run: run.run,
    verdict: verdictOf(p),
    p,
    ...residualOf(judged),
    cause: 'typing',
    cause_probability: 1 - p,
    likely_cause: 'typing',
    typing: { kind: 'entered twice', column: 'run', typed: run.run, meant: as.run },
  };
}

const SENSOR: NamedVerdict = { cause: 'sensor', cause_probability: 1, likely_cause: 'sensor' };

/** Runs without heat show the sensors' offset and nothing else; they are judged by what the offset of source and session may be. */
function zeroLoadRuns(bench: Bench, source: string, clean: CleanBench): RunVerdict[] {
  const zero = bench.runs.filter((run) => run.source === source && isZeroLoad(run));
  const reading = Math.hypot(clean.posterior.scatter.sigma[READING], 0.1);
  const residual = zero.map((run) => {
    const { value_K, u_K } = sensorOffset(
      { ...bench, runs: bench.runs.filter((other) => other !== run) },
      source,
      run.session,
    );
    const rise = riseOf(run) - value_K;
    const u = Math.hypot(u_K, reading);
    return { rise, u, p: deletedP(rise / u, Number.POSITIVE_INFINITY) };
  });
  const p = holm(residual.map((one) => one.p));
  return zero.map((run, i) => {
    const verdict = verdictOf(p[i]);
    const cause = verdict === 'ok' ? NO_CAUSE : SENSOR;
    return { run: run.run, verdict, p: p[i], residual_K: residual[i].rise, u_K: residual[i].u, ...cause };
  });
}
