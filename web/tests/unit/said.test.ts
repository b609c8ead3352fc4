import { execFileSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { beforeAll, describe, expect, test } from 'vitest';
import { setHabits } from '../../src/habits';
import { setLanguage } from '../../src/text';
import { sayerOf, type Says } from '../../src/text/said/matcher';
import { german, patterns } from '../../src/text/said/german';

const says: Says = {
  decimal: () => ',',
  day: (iso) => iso.split('-').reverse().join('.'),
  weekday: (w) => ({ Mon: 'Mo' })[w],
  muscle: (m) => ({ chest: 'Brust' })[m],
  words: [[/\bunder\b/g, 'unter']],
};

describe('the matcher', () => {
  const say = sayerOf(
    [
      ['{n} rep(s) more: {t}.', '{n} {n:Wiederholung|Wiederholungen} mehr: {t}.'],
      ['a coin toss ({p})', 'ein Münzwurf ({p})'],
      ['left at {q}', 'bei {q} gelassen'],
      ['{w} {d}: {x} out', '{w}, {d}: {x} entfällt'],
      ['{m}: at most {n} sets', '{m}: höchstens {n} Sätze'],
      ['held: {y}', 'gesperrt: {y}'],
      ['given {c}', 'gegeben {c}'],
      ["You say {n} and have {n1}: stop at '{n}'", 'Du sagst {n} und hast {n1}: Schluss bei „{n}“'],
      ['{o}: {t}', '{o}: {t}'],
      ['nothing', 'nichts'],
      ['The end.', 'Das Ende.'],
    ],
    says,
  );
  test('numbers, in the singular and the plural', () => {
    expect(say('1 rep more: a coin toss (52 %).')).toBe('1 Wiederholung mehr: ein Münzwurf (52 %).');
    expect(say('2.5 reps more: nothing.')).toBe('2,5 Wiederholungen mehr: nichts.');
    expect(say('-1.5 reps more: nothing.')).toBe('−1,5 Wiederholungen mehr: nichts.');
    expect(say('left at 47.5 kg')).toBe('bei 47,5 kg gelassen');
    expect(say('a coin toss (under 1 %)')).toBe('ein Münzwurf (unter 1 %)');
  });
  test('nesting, and none where the inner part has no pattern', () => {
    expect(say('2 reps more: nowhere to be found.')).toBeUndefined();
    expect(say('held: a coin toss (3 %)')).toBe('gesperrt: ein Münzwurf (3 %)');
    expect(say('held: knee, since the fall')).toBe('gesperrt: knee, since the fall');
    expect(say('given nothing, 3 left, left at 2.5')).toBe('gegeben nichts, 3 left, bei 2,5 gelassen');
  });
  test('days, muscles, names, repeated places', () => {
    expect(say('Mon 2026-03-09: bench press out')).toBe('Mo, 09.03.2026: bench press entfällt');
    expect(say('chest: at most 12.5 sets')).toBe('Brust: höchstens 12,5 Sätze');
    expect(say('pride: at most 12 sets')).toBeUndefined();
    expect(say("You say 2 and have 3: stop at '2'")).toBe('Du sagst 2 und hast 3: Schluss bei „2“');
    expect(say("You say 2 and have 3: stop at '3'")).toBeUndefined();
    expect(say('bench press: nothing')).toBe('bench press: nichts');
    expect(say('what it is: nothing')).toBeUndefined(); // a sentence of which only the end is known stays whole
  });
  test('sentences in a row, and parts of one', () => {
    expect(say('The end. The end.')).toBe('Das Ende. Das Ende.');
    expect(say('nothing; left at 2')).toBe('nichts; bei 2 gelassen');
    expect(say('The end. And more.')).toBeUndefined();
    expect(say('')).toBeUndefined();
  });
});

describe('German', () => {
  beforeAll(async () => {
    setHabits({ language: 'de', decimal: 'comma', date_format: 'dmy' });
    await setLanguage('de');
  });

  test('both sides of a pattern have the same places', () => {
    const names = (s: string) => [...new Set([...s.matchAll(/\{(\w+)/g)].map((m) => m[1]!))].sort();
    for (const [english, other] of patterns) expect(names(other), english).toEqual(names(english));
    const twice = patterns.map(([e]) => e).filter((e, i, all) => all.indexOf(e) !== i);
    expect(twice).toEqual([]);
  });

  test('every sentence found in the sources has a pattern', () => {
    const out = execFileSync(process.execPath, ['--no-warnings', 'scripts/said.mjs'], { encoding: 'utf8' });
    const [, all, , have] = /; (\d+) pieces of sentences in (\d+) files, (\d+) with/.exec(out)!;
    expect(Number(all)).toBeGreaterThan(700);
    expect(have).toBe(all);
  });

  // As the running program says them.
  const said: [string, string][] = [
    ["You say 2 and have about 3: stop at 'would call 2'; 1 rep more would be a coin toss (48 %).", 'Du sagst 2 und hast etwa 3: Schluss bei gefühlt „noch 2“; 1 Wiederholung mehr wären wie ein Münzwurf (48 %).'],
    ['fixed by you; without it 3.4 % less effect, 2.1 % less fatigue, 7.5 min freed; the policy allows only 2 in reserve', 'von dir festgelegt; ohne sie 3,4 % weniger Wirkung, 2,1 % weniger Ermüdung, 7,5 Minuten frei; die Reserveregeln erlauben nur 2 in Reserve'],
    ['chest: at most 12.5 sets in week 3 (lighter week)', 'Brust: höchstens 12,5 Sätze in Woche 3 (leichtere Woche)'],
    ['heart or blood vessels: yes on 2026-03-09. What lifts it: a clinician\'s word on training, recorded with its date and naming this hold', 'Herz oder Blutgefäße: ja am 9. März 2026. Was die Sperre aufhebt: ein ärztliches Wort zum Training, eingetragen mit Tag, das diese Sperre nennt'],
    ['tightness in the chest. What lifts it: the pain is cleared, with a name', 'tightness in the chest. Was die Sperre aufhebt: der Schmerz wird mit Namen freigegeben'],
    ['6 studies, 14 effects: stopping short against failure -0.04 (-0.21 to 0.13) (SMD). No clear difference: anything from 0.21 in favour of failure to 0.13 in favour of stopping short fits these studies. Few studies: the next ones may change it.', '6 Studien, 14 Effekte: früheres Aufhören gegen Versagen −0,04 (−0,21 bis 0,13) (SMD). Kein klarer Unterschied: zu diesen Studien passt alles von 0,21 zugunsten des Versagens bis 0,13 zugunsten früheren Aufhörens. Wenige Studien: die nächsten können es ändern.'],
    ['All to failure brings 104 % of the stimulus of 2 in reserve, 121 % if every rep short counts; it leaves strength 12 % down instead of 5.6 %. At equal minutes: 3 sets against 4 sets.', 'Alle bis zum Versagen: 104 % vom Reiz von „2 in Reserve“, 121 %, falls jede Wiederholung früher zählt; danach fehlen 12 % der Kraft statt 5,6 %. Bei gleich vielen Minuten: 3 Sätze gegen 4 Sätze.'],
    ['start of the session of Ada Holm', 'Ada Holm: Beginn der Einheit'],
    ['exercises.2.finish: as usual, failure or test was expected', 'exercises.2.finish: erwartet war as usual, failure or test'],
    ['Leg press is out: excluded by the word of Dr. Holm of 2026-03-09.', 'Leg press entfällt: ausgeschlossen durch das Wort von Dr. Holm vom 9. März 2026.'],
    ['the workbook cannot be read: its part "xl/a.xml" unpacks to more than 250 times its size', 'die Arbeitsmappe ist nicht lesbar: ihr Teil "xl/a.xml" ergibt entpackt mehr als das 250-fache'],
    ['the workbook cannot be read: sheet Week 3, D2: holds "abc" where a number belongs', 'die Arbeitsmappe ist nicht lesbar: Blatt Week 3, D2: enthält "abc", wo eine Zahl stehen muss'],
    ['mapping, line 3: columns.load must name a column', 'Zuordnung, Zeile 3: columns.load muss eine Spalte nennen'],
    ['planning, within 2.4 %', 'wird geplant, bis auf 2,4 %'],
  ];
  test.each(said)('%s', (english, other) => expect(german(english)).toBe(other));

  // heard.txt: what the program answered with the invented roster, a sentence a line, each kind once.
  test('every sentence heard from the program is said, and whole', () => {
    const heard = readFileSync(new URL('heard.txt', import.meta.url), 'utf8').trim().split('\n').map((l) => l.replaceAll('\\n', '\n'));
    expect(heard.length).toBeGreaterThan(350);
    const not: string[] = [];
    for (const english of heard) {
      const other = german(english);
      const left = other?.replace(/„[^“]*“|"[^"]*"/g, '').match(/\b(the|of|which|is|are|with|by|from|for|at|and|that|its|than)\b/);
      if (other === undefined || left) not.push(`${english} => ${other}`);
    }
    expect(not).toEqual([]);
  });

  // The program says them in German too, for its papers: service/words is held against the same file.
  test('what the program is held against is what the page says', () => {
    const heard = readFileSync(new URL('heard.txt', import.meta.url), 'utf8').trim().split('\n').map((l) => l.replaceAll('\\n', '\n'));
    const now = `${JSON.stringify(Object.fromEntries([...heard, ...said.map(([e]) => e)].map((e) => [e, german(e)])), null, 0).replaceAll('","', '",\n"')}\n`;
    const file = new URL('said.json', import.meta.url);
    if (process.env.ULLAGE_GOLDEN === 'write') writeFileSync(file, now);
    expect(readFileSync(file, 'utf8'), 'tests/unit/said.json; ULLAGE_GOLDEN=write writes it').toBe(now);
  });

  test('what has no pattern stays', () => {
    expect(german('Something that the program never says.')).toBeUndefined();
    expect(german('two eggs, no toast')).toBeUndefined();
  });

  test('a thousand sentences in less than 50 ms', () => {
    const sayer = sayerOf(patterns, says);
    // The time of this process alone, and the best of some rounds: the machine may be busy. None is remembered from before.
    const round = (at: number) => {
      const many = Array.from({ length: 1000 }, (_, i) => said[i % said.length]![0].replace(/\d+/, String(1000 * at + i)));
      const from = process.cpuUsage();
      for (const s of many) sayer(s);
      const { user, system } = process.cpuUsage(from);
      return (user + system) / 1000;
    };
    expect(Math.min(...Array.from({ length: 8 }, (_, at) => round(at + 1)))).toBeLessThan(50);
  });
});
