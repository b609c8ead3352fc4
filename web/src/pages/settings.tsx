import { useEffect, useState } from 'preact/hooks';
import { ask } from '../api/client';
import type { SettingsEdit } from '../api/types';
import { Choice, Failure, tell } from '../design/parts';
import { day, fixed, localDay, time } from '../format';
import { habits, setHabits, type Habits } from '../habits';
import { t } from '../text';

export function SettingsPage() {
  const [error, setError] = useState<unknown>();
  const [, draw] = useState(0);
  useEffect(() => {
    document.title = `${t('nav.settings')} · Ullage`;
  });
  const h = habits();
  const set = async (change: Partial<Habits>) => {
    const before = { ...habits() };
    setHabits(change);
    draw((n) => n + 1);
    try {
      await ask('PATCH /api/settings', { body: change as SettingsEdit });
      setError(undefined);
      tell(t('saved'), undefined, async () => {
        setHabits(before);
        const back = Object.fromEntries(Object.keys(change).map((k) => [k, before[k as keyof Habits]]));
        await ask('PATCH /api/settings', { body: back as SettingsEdit });
      });
    } catch (e) {
      setError(e);
    }
  };
  return (
    <main class="sheet" id="main" tabIndex={-1}>
      <h1>{t('nav.settings')}</h1>
      <p class="lead">{t('settings.example', { date: day(localDay(), 'long'), time: time(Date.now()), number: `${fixed(102.5, 1)} ${h.unit}` })}</p>
      {error !== undefined && <Failure error={error} />}
      <div class="fields pair">
        <Choice label={t('settings.language')} value={h.language} set={(v) => void set({ language: v as Habits['language'] })} options={[['en', 'English'], ['de', 'Deutsch']]} />
        <Choice label={t('settings.unit')} hint={t('settings.unit.hint')} value={h.unit} set={(v) => void set({ unit: v as Habits['unit'] })} options={[['kg', 'kg'], ['lb', 'lb']]} />
        <Choice label={t('settings.dates')} value={h.date_format} set={(v) => void set({ date_format: v as Habits['date_format'] })}
          options={[['iso', '2026-11-26'], ['dmy', '26.11.2026'], ['mdy', '11/26/2026']]} />
        <Choice label={t('settings.decimal')} value={h.decimal} set={(v) => void set({ decimal: v as Habits['decimal'] })} options={[['dot', '102.5'], ['comma', '102,5']]} />
        <Choice label={t('settings.clock')} value={h.clock} set={(v) => void set({ clock: v as Habits['clock'] })} options={[['24', '18:40'], ['12', '6:40 PM']]} />
        <Choice label={t('settings.week')} value={h.week_start} set={(v) => void set({ week_start: v as Habits['week_start'] })}
          options={[['monday', t('monday')], ['sunday', t('sunday')], ['saturday', t('saturday')]]} />
        <Choice label={t('settings.paper')} value={h.paper} set={(v) => void set({ paper: v as Habits['paper'] })} options={[['a4', 'A4'], ['letter', 'Letter']]} />
        <Choice label={t('settings.theme')} value={h.theme} set={(v) => void set({ theme: v as Habits['theme'] })}
          options={[['auto', t('theme.auto')], ['light', t('theme.light')], ['dark', t('theme.dark')]]} />
      </div>
      <h2>{t('settings.drawn')}</h2>
      <p><a href="#/drawn">{t('drawn.title')}</a></p>
    </main>
  );
}
