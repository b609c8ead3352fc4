// Templates of blocks: what each asks for, looked at, used, kept as one's own, changed, removed.
import { useState } from 'preact/hooks';
import { useTitle } from '../App';
import { ask } from '../api/client';
import type { Template } from '../api/types';
import { Blank, Dialog, Failure, Field, Said, TextField, tell, tellFailure, useSaid } from '../design/parts';
import type { Route } from '../router';
import { t } from '../text';
import { useAsk } from '../use';

export function TemplatesPage({ changed, version }: { route: Route; changed: () => void; version: number }) {
  const { data, error, again } = useAsk(() => ask('GET /api/templates'), String(version));
  const [edit, setEdit] = useState<{ name: string; toml: string; fresh: boolean }>();
  useTitle(t('template.title'));
  if (!data) return <Blank error={error} again={again} />;
  const done = () => (setEdit(undefined), again(), changed());
  const remove = async (x: Template) => {
    try {
      tell(t('template.removed', { name: x.name }), (await ask('DELETE /api/templates/{name}', { path: { name: x.name } })).change);
      done();
    } catch (e) {
      tellFailure(e);
    }
  };
  const list = [...data.templates].sort((a, b) => Number(b.own) - Number(a.own));
  return (
    <main class="sheet" id="main" tabIndex={-1}>
      <h1>{t('template.title')}</h1>
      <p class="lead">{t('template.text')}</p>
      <p><button type="button" class="first" onClick={() => setEdit({ name: '', toml: start, fresh: true })}>{t('template.new')}</button></p>
      <ul class="plain-list templates">
        {list.map((x) => (
          <li key={x.name}>
            <Said as="h2" own={x.own} of={x.title || x.name} />
            <p class="serif">{x.about && <Said own={x.own} of={x.about} />} {t('plan.template.size', { weeks: x.weeks, n: x.days })} {x.own && <span class="soft">{t('template.own')}</span>}</p>
            <details>
              <summary>{t('template.look')}<span class="unseen"> <Said own={x.own} of={x.title || x.name} /></span></summary>
              <pre lang="en" tabIndex={0}>{x.toml}</pre>
            </details>
            <div class="actions">
              <button type="button" onClick={() => setEdit({ name: x.own ? x.name : '', toml: x.toml, fresh: !x.own })}>{t(x.own ? 'template.edit' : 'template.copy')}<span class="unseen"> <Said own={x.own} of={x.title || x.name} /></span></button>
              {x.own && <button type="button" onClick={() => void remove(x)}>{t('template.remove')}<span class="unseen"> <Said own={x.own} of={x.title || x.name} /></span></button>}
              <UseFor template={x} />
            </div>
          </li>
        ))}
      </ul>
      {edit && <Edit {...edit} close={() => setEdit(undefined)} done={done} />}
    </main>
  );
}
const start = 'name = ""\nabout = ""\nweeks = 6\n\n[[day]]\non = "Mon"\nminutes = 60\n\n[[day]]\non = "Thu"\nminutes = 60\n';

// For whom: opens that lifter's plan with the template chosen.
function UseFor({ template }: { template: Template }) {
  const said = useSaid();
  const [open, setOpen] = useState(false);
  const [who, setWho] = useState('');
  const { data, error } = useAsk(() => (open ? ask('GET /api/roster', { query: { limit: 20, q: who, sort: 'name' } }) : Promise.resolve(undefined)), open ? `q${who}` : '');
  return (
    <>
      <button type="button" onClick={() => setOpen(true)}>{t('template.use')}<span class="unseen"> <Said own={template.own} of={template.title || template.name} /></span></button>
      {open && (
        <Dialog title={t('template.use.for', { name: said(template.title || template.name).text })} close={() => setOpen(false)}>
          <div class="fields"><TextField label={t('search.lifter')} value={who} set={setWho} /></div>
          {error !== undefined && <Failure error={error} />}
          <ul class="plain-list">
            {data?.lifters.map((l) => (
              <li key={l.id}><a href={`#/lifter/${encodeURIComponent(l.id)}/plan?template=${encodeURIComponent(template.name)}`}>{l.lifter}</a></li>
            ))}
          </ul>
          <div class="actions"><button type="button" onClick={() => setOpen(false)}>{t('cancel')}</button></div>
        </Dialog>
      )}
    </>
  );
}

function Edit({ name, toml, fresh, close, done }: { name: string; toml: string; fresh: boolean; close: () => void; done: () => void }) {
  const [as, setAs] = useState(name);
  const [text, setText] = useState(toml);
  const [error, setError] = useState<unknown>();
  const save = async () => {
    try {
      tell(t('template.kept', { name: as }), (await ask('PUT /api/templates/{name}', { path: { name: as.trim() }, body: { toml: text } })).change);
      done();
    } catch (e) {
      setError(e);
    }
  };
  return (
    <Dialog title={t(fresh ? 'template.new' : 'template.edit')} close={close}>
      <form onSubmit={(e) => (e.preventDefault(), as.trim() && void save())}>
        <div class="fields"><TextField label={t('template.name')} value={as} set={setAs} /></div>
        <Field label={t('template.toml')} hint={t('template.toml.hint')}>
          {(a) => <textarea {...a} class="toml" rows={14} spellcheck={false} value={text} onInput={(e) => setText(e.currentTarget.value)} />}
        </Field>
        {error !== undefined && <Failure error={error} />}
        <div class="actions">
          <button type="submit" class="first" disabled={!as.trim()}>{t('save')}</button>
          <button type="button" onClick={close}>{t('cancel')}</button>
        </div>
      </form>
    </Dialog>
  );
}
