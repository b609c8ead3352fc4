// How this page is drawn: the scale, the colours by role, and the parts, each in its states.
import { useEffect } from 'preact/hooks';
import type { Interval } from '../api/types';
import { JudgementPicture, StrengthPicture } from '../design/Chart';
import { Holds, Notice, Plates, Why } from '../design/parts';
import { Vessels } from '../design/Vessel';
import { t, type TextKey } from '../text';

const about = (median: number, lo80: number, hi80: number): Interval => ({ median, lo80, hi80, sd: (hi80 - lo80) / 2.56 });
const colours = ['paper', 'leaf', 'ink', 'soft', 'rule', 'edge', 'done', 'planned', 'doubt', 'median', 'harm', 'focus'] as const;

export function DrawnPage() {
  useEffect(() => {
    document.title = `${t('drawn.title')} · Ullage`;
  }, []);
  const line = Array.from({ length: 20 }, (_, i) => ({ date: new Date(Date.UTC(2026, 5, 1 + i * 7)).toISOString().slice(0, 10), median: 104 + 17 * (1 - Math.exp(-i / 9)), lo80: 102 + 16.5 * (1 - Math.exp(-i / 9)), hi80: 106.5 + 17.3 * (1 - Math.exp(-i / 9)) }));
  return (
    <main class="sheet" id="main" tabIndex={-1}>
      <h1>{t('drawn.title')}</h1>
      <p class="lead">{t('drawn.text')}</p>
      <h2>{t('drawn.scale')}</h2>
      <p class="sample-44">44</p>
      <p class="sample-28">28 {t('drawn.heading')}</p>
      <p class="lead">18 {t('drawn.lead')}</p>
      <p>16 {t('drawn.body')}</p>
      <p class="small">13 {t('drawn.small')}</p>
      <h2>{t('drawn.colours')}</h2>
      <ul class="swatches">
        {colours.map((c) => (
          <li key={c}><svg viewBox="0 0 44 28" width="44" height="28" aria-hidden="true"><rect x="0.5" y="0.5" width="43" height="27" class={`swatch-${c}`} /></svg> {c} <span class="soft small">{t(`drawn.${c}` as TextKey)}</span></li>
        ))}
      </ul>
      <h2>{t('drawn.vessel')}</h2>
      <p>{t('drawn.vessel.text')}</p>
      <Vessels table legend width={620} label={t('drawn.vessel')}
        sets={[
          { done: 8, planned: 8, called: 2, capacity: about(10.4, 9.6, 11.5), caption: t('drawn.v.done') },
          { done: 6, planned: 8, called: 5, calledOpen: true, capacity: about(12, 10, 14), caption: t('drawn.v.open') },
          { done: 7, planned: 7, failed: true, caption: t('drawn.v.missed') },
          { done: 8, planned: 8, called: 1, capacity: about(9.8, 9, 11), caption: t('drawn.v.waiting'), waiting: true },
          { planned: 7, capacity: about(9.2, 8, 10.8), caption: t('drawn.v.now'), current: true },
          { planned: 7, capacity: about(8.6, 7, 10.6), caption: t('drawn.v.planned') },
          { planned: 8, caption: t('drawn.v.unknown') },
        ]} />
      <h2>{t('drawn.pictures')}</h2>
      <div class="columns two">
        <StrengthPicture label={t('strength.picture', { name: t('drawn.example') })} unit="kg" line={line} dots={line.map((p, i) => ({ date: p.date, value: p.median + Math.sin(i * 2.3) * 3, text: '', atLeast: i % 5 === 4 }))} />
        <JudgementPicture label={t('judgement.title', { called: '2', has: '3.4' })} points={[0, 1, 2, 3, 4, 5].map((c) => ({ called: c, has: about(c + 0.9 + c * 0.15, c + 0.2, c + 1.9 + c * 0.4), sets: 20 }))} />
      </div>
      <Plates list={[{ amount: 20, unit: 'kg' }, { amount: 15, unit: 'kg' }, { amount: 5, unit: 'kg' }, { amount: 1.25, unit: 'kg' }]} />
      <h2>{t('drawn.keys')}</h2>
      <div class="actions">
        <button type="button" class="first">{t('drawn.key.first')}</button>
        <button type="button">{t('drawn.key')}</button>
        <button type="button" aria-pressed="true">{t('drawn.key.pressed')}</button>
        <button type="button" disabled>{t('drawn.key.off')}</button>
        <button type="button" class="danger">{t('drawn.key.harm')}</button>
        <button type="button" class="plain">{t('drawn.key.plain')}</button>
      </div>
      <h2>{t('drawn.notices')}</h2>
      <Notice title={t('drawn.notice')}><p>{t('drawn.notice.text')}</p></Notice>
      <Holds name={t('drawn.name')} holds={[{ id: 'x', reason: t('drawn.hold'), lifts: t('drawn.lifts') }]} />
      <p>121 kg (118–124) <Why of="121 kg"><p>{t('drawn.why')}</p></Why></p>
    </main>
  );
}
