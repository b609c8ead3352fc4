import { useEffect, useRef, useState } from 'preact/hooks';
import type { ComponentChildren, ComponentType } from 'preact';
import { Away, ask, isAway, onAway } from './api/client';
import { Blank, ToldBar } from './design/parts';
import { habits, onHabits, setHabits, type Habits } from './habits';
import { link, parseRoute, type Route } from './router';
import { setLanguage, t, type TextKey } from './text';
import { onNames } from './text/names';
import { RosterPage } from './pages/roster';

// Pages that come with the first load are imported; the others when they are opened.
type Page = ComponentType<{ route: Route; changed: () => void; version: number }>;
const later: Record<string, () => Promise<Page>> = {
  lifter: () => import('./pages/lifter').then((m) => m.LifterPage),
  sheet: () => import('./pages/sheet').then((m) => m.SheetPage),
  floor: () => import('./pages/floor-route').then((m) => m.FloorRoute),
  new: () => import('./pages/profile').then((m) => m.NewLifter),
  exercises: () => import('./pages/exercises').then((m) => m.ExercisesPage),
  places: () => import('./pages/places').then((m) => m.PlacesPage),
  policy: () => import('./pages/policy').then((m) => m.PolicyPage),
  templates: () => import('./pages/templates').then((m) => m.TemplatesPage),
  import: () => import('./pages/import').then((m) => m.ImportPage),
  evidence: () => import('./pages/evidence').then((m) => m.EvidencePage),
  papers: () => import('./pages/papers').then((m) => m.PapersPage),
  data: () => import('./pages/data').then((m) => m.DataPage),
  settings: () => import('./pages/settings').then((m) => m.SettingsPage),
  drawn: () => import('./pages/drawn').then((m) => m.DrawnPage),
};
const got: Record<string, Page> = { '': RosterPage };

const places: [string, TextKey][] = [
  ['', 'nav.roster'],
  ['floor', 'nav.floor'],
  ['exercises', 'nav.exercises'],
  ['places', 'nav.places'],
  ['policy', 'nav.policy'],
  ['evidence', 'nav.evidence'],
  ['templates', 'nav.templates'],
  ['import', 'nav.import'],
  ['data', 'nav.data'],
  ['settings', 'nav.settings'],
];

function Head({ page }: { page: string }) {
  return (
    <header class="head">
      <a class="name" href="#/">
        <svg viewBox="0 0 20 22" aria-hidden="true">
          <path d="M4.500 9h11v7.500a3 3 0 0 1-3 3h-5a3 3 0 0 1-3-3z" fill="var(--done)" />
          <path d="M1.500 1.500 3.500 3v14a4 4 0 0 0 4 4h5a4 4 0 0 0 4-4V3l2-1.500" fill="none" stroke="currentColor" stroke-width="1.500" />
          <path d="M5 4h2m2 0h2m2 0h2" stroke="var(--median)" stroke-width="1.500" />
        </svg>
        Ullage
      </a>
      <nav aria-label={t('nav')}>
        {places.map(([p, text]) => (
          <a key={p} href={link(p)} aria-current={p === page ? 'page' : undefined}>{t(text)}</a>
        ))}
      </nav>
    </header>
  );
}

function AwayNote() {
  const [away, setAway] = useState(isAway());
  useEffect(() => onAway(setAway), []);
  return <div role="status">{away && <p class="sheet away-note soft">{t('away.note')}</p>}</div>;
}

function LatePage({ page, ...rest }: { page: string; route: Route; changed: () => void; version: number }) {
  const [, draw] = useState(0);
  const [error, setError] = useState<unknown>();
  const Now = got[page];
  useEffect(() => {
    setError(undefined);
    if (got[page] || !later[page]) return;
    later[page]().then(
      (p) => {
        got[page] = p;
        draw((n) => n + 1);
      },
      (e: unknown) => setError(new Away(String(e))),
    );
  }, [page]);
  if (error) return <Blank error={error} again={() => location.reload()} />;
  if (!Now && !later[page])
    return (
      <main class="sheet" id="main" tabIndex={-1}>
        <h1>{t('lost.title')}</h1>
        <p><a href="#/">{t('nav.roster')}</a></p>
      </main>
    );
  return Now ? <Now {...rest} /> : <Blank />;
}

// The other pages are fetched while nothing else is going on, so that they open at once and with the program away.
function fetchAhead() {
  const next = Object.keys(later).filter((p) => !got[p]);
  const idle = window.requestIdleCallback ?? ((f: () => void) => setTimeout(f, 200));
  const one = () => {
    const page = next.shift();
    if (!page) return;
    later[page]!().then((p) => {
      got[page] ??= p;
      idle(one);
    }, () => undefined);
  };
  idle(one);
}

function apply(h: Habits) {
  document.documentElement.dataset.scheme = h.theme;
  document.documentElement.dataset.paper = h.paper;
}

export function App(): ComponentChildren {
  const [route, setRoute] = useState(() => parseRoute(location.hash));
  const [version, setVersion] = useState(0);
  const changed = () => setVersion((n) => n + 1);
  const first = useRef(true);
  useEffect(() => {
    const l = () => setRoute(parseRoute(location.hash));
    addEventListener('hashchange', l);
    return () => removeEventListener('hashchange', l);
  }, []);
  useEffect(
    () =>
      onHabits(() => {
        apply(habits());
        void setLanguage(habits().language).then(changed);
      }),
    [],
  );
  useEffect(() => onNames(changed), []);
  useEffect(() => {
    const timer = setTimeout(fetchAhead, 1500);
    return () => clearTimeout(timer);
  }, []);
  useEffect(() => {
    ask('GET /api/settings').then((s) => {
      const h = habits();
      if (Object.entries(s).some(([k, v]) => h[k as keyof Habits] !== v)) setHabits(s);
    }, () => undefined);
  }, []);
  // While the program is away it is asked now and then, so that the page comes back by itself.
  useEffect(() => {
    let timer: ReturnType<typeof setInterval> | undefined;
    const stop = onAway((away) => {
      clearInterval(timer);
      if (away) timer = setInterval(() => void ask('GET /api/about', { timeout: 4000 }).catch(() => undefined), 5000);
      else changed();
    });
    return () => {
      stop();
      clearInterval(timer);
    };
  }, []);
  // What another window, another coach or the command line changed.
  useEffect(() => {
    let source: EventSource | undefined;
    let timer: ReturnType<typeof setTimeout> | undefined;
    const open = () => {
      if (document.visibilityState === 'hidden' || source) return;
      source = new EventSource('api/events');
      source.addEventListener('change', () => {
        clearTimeout(timer);
        timer = setTimeout(changed, 300);
      });
    };
    const seen = () => {
      if (document.visibilityState === 'hidden') {
        source?.close();
        source = undefined;
      } else open();
    };
    open();
    document.addEventListener('visibilitychange', seen);
    return () => {
      source?.close();
      document.removeEventListener('visibilitychange', seen);
    };
  }, []);
  // A new page starts at its top, and those who hear it are told where they are.
  const where = `${route.page}/${route.parts.join('/')}`;
  useEffect(() => {
    if (first.current) {
      first.current = false;
      return;
    }
    scrollTo(0, 0);
    document.getElementById('main')?.focus({ preventScroll: true });
  }, [where]);
  const bare = route.page === 'floor' && route.parts.length > 0;
  return (
    <>
      <a class="skip" href="#main"
        onClick={(e) => {
          e.preventDefault();
          document.getElementById('main')?.focus();
        }}>
        {t('skip')}
      </a>
      {!bare && <Head page={route.page} />}
      {!bare && <AwayNote />}
      {/* Another lifter is another page: nothing typed or shown for one may stay for the next. */}
      <LatePage key={`${route.page}/${route.parts[0] ?? ''}`} page={route.page} route={route} changed={changed} version={version} />
      <ToldBar changed={changed} />
    </>
  );
}

export function useTitle(title: string): void {
  useEffect(() => {
    document.title = title ? `${title} · Ullage` : 'Ullage';
  }, [title]);
}
