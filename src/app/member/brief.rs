//! Before the class: what it is, what to bring, what to know, and start.

use std::sync::Arc;

use leptos::prelude::*;

use super::class::sure::Sure;
use super::set_time::SetTime;
use crate::app::parts::buttons::to_classes;
use crate::app::parts::hearing::{hearing, seeing};
use crate::app::parts::live::{button, live, nothing, part, touch};
use crate::app::parts::notices::{fault_line, left_off};
use crate::app::parts::offline::{offline_line, update_offer};
use crate::app::parts::pass_on::pass_on;
use crate::app::parts::{Opened, Screen, shell, text};
use crate::conductor::TwoStarts;
use crate::plan::{Block, BlockKind, Choice, Level, Move, Plan, fill, is_blank, isolated};
use crate::timeline::{Ways, all_at, needs};

/// What is known of a class before it starts.
pub fn brief(opened: &Opened) -> AnyView {
    let plan = opened.plan();
    let totals = opened.timeline.totals();
    let title = opened.title();
    let coach = (!is_blank(&plan.coach)).then(|| format!("with {}", isolated(&plan.coach)));
    let about = (!is_blank(&plan.about)).then(|| plan.about.clone());
    let figures = format!(
        "{}, of which {} are work",
        text::length(totals.all()),
        text::length(totals.work)
    );
    let outline = plan
        .blocks
        .iter()
        .enumerate()
        .map(|(i, block)| outline(opened, i, block))
        .collect_view();
    let kit = kit(plan);
    let set_time = SetTime::of(opened);
    let start = touch(move || set_time.start());
    view! {
        <main class="page brief" data-testid="brief">
            <header>
                {to_classes()}
                <h1 dir="auto">{title}</h1>
                {coach.map(|coach| view! { <p>{coach}</p> })}
                <p class="figure">{figures}</p>
                {about.map(|about| view! { <p class="keep-lines" dir="auto">{about}</p> })}
            </header>
            {set_time.line()}
            {two_starts()}
            {revisions(opened)}
            {fault_line()}
            {left_off()}
            {offline_line()}
            {update_offer()}
            <section>
                <h2>"Bring"</h2>
                {kit}
            </section>
            <section>
                <h2>"Before you start"</h2>
                {cautions()}
            </section>
            <section>
                <h2>"Can you hear it?"</h2>
                {hearing(opened)}
            </section>
            <section>
                <h2>"How hard is it?"</h2>
                {how_hard(opened)}
            </section>
            <section>
                <h2>"How it stands on the screen"</h2>
                {seeing()}
            </section>
            <section>
                <h2>"What comes"</h2>
                {whole_class(plan)}
                <ol class="plain outline">{outline}</ol>
            </section>
            <section>
                <h2>"Pass it on"</h2>
                {link_on(opened)}
            </section>
            <div class="start-bar">
                {anew(set_time)}
                <button class="start" data-testid="start" on:click=start>
                    {live(move || set_time.start_words())}
                </button>
            </div>
        </main>
    }
    .into_any()
}

/// Where the large button resumes: the way to start anew, which asks.
fn anew(set_time: SetTime) -> AnyView {
    let sure = Sure::new();
    part(move || {
        if !set_time.resumes() {
            return nothing();
        }
        let words = if sure.asks() {
            "Really from the start?"
        } else {
            "Start from 0:00"
        };
        button("quiet", "start-anew", words, move || {
            if sure.touched() {
                set_time.start_anew();
            }
        })
    })
    .into_any()
}

/// Estimates, for who asks for them.
fn how_hard(opened: &Opened) -> AnyView {
    let asked = RwSignal::new(false);
    let opened = opened.clone();
    part(move || {
        if asked.get() {
            (shell().effort)(opened.clone())
        } else {
            button("", "how-hard", "Talk test, heart rate, energy", move || {
                asked.set(true)
            })
        }
    })
    .into_any()
}

/// The choice between the start on this phone and the link's, where they differ.
fn two_starts() -> AnyView {
    let shell = shell();
    part(move || {
        let Some(TwoStarts { kept, link }) = shell.starts.get() else {
            return nothing();
        };
        let now = shell.session.now();
        let mine = |class: &str| {
            let starts = if kept <= now { "started" } else { "starts" };
            format!("On this phone {class} class {starts} {}.", text::instant(kept))
        };
        // Where the time of day does not tell them apart, the buttons say the day too.
        let same = link.is_some_and(|link| text::time(link) == text::time(kept));
        let short = |at: i64| if same { text::instant(at) } else { text::time(at) };
        let (words, take) = match link {
            Some(at) => (
                format!("{} This link says {}.", mine("this"), text::instant(at)),
                format!("Take {}", short(at)),
            ),
            None => (
                format!("This link has no start time. {}", mine("the")),
                "No set start".to_owned(),
            ),
        };
        view! {
            <section class="notice" data-testid="two-starts">
                <p>{words}</p>
                <div class="row">
                    {button("", "keep-start", format!("Keep {}", short(kept)), move || shell.starts.set(None))}
                    {button("", "take-start", take, move || shell.take_start(link))}
                </div>
            </section>
        }
        .into_any()
    })
    .into_any()
}

/// The choice between what is kept and what was opened, where they differ.
fn revisions(opened: &Opened) -> AnyView {
    let shell = shell();
    let opened = opened.clone();
    part(move || {
        let Some(kept) = shell.kept.get() else {
            return nothing();
        };
        let (has, comes) = (kept.opened.plan().revision, opened.plan().revision);
        let words = if kept.older {
            format!("This is a corrected version (revision {comes}) of a class on this phone (revision {has}).")
        } else {
            format!("You have revision {has} of this class on this phone. This is another one, revision {comes}.")
        };
        let take = {
            let opened = opened.clone();
            move || {
                shell.keep(&opened);
                shell.kept.set(None);
            }
        };
        let stay = {
            let mine = kept.opened.clone();
            move || shell.open(mine.clone())
        };
        view! {
            <section class="notice" data-testid="revision">
                <p>{words}</p>
                <div class="row">
                    {button("", "take-revision", "Keep this one instead", take)}
                    {button("", "keep-revision", "Stay with mine", stay)}
                </div>
            </section>
        }
        .into_any()
    })
    .into_any()
}

fn kit(plan: &Plan) -> AnyView {
    if plan.kit.is_empty() {
        return view! { <p>"Nothing but room to move, and water."</p> }.into_any();
    }
    let session = shell().session;
    let whole = Arc::new(plan.clone());
    let items = plan
        .kit
        .iter()
        .map(|kit| {
            let instead = (!kit.instead.is_empty())
                .then(|| {
                    kit.instead
                        .iter()
                        .map(|one| isolated(one))
                        .collect::<Vec<_>>()
                })
                .map(|instead| format!("or instead: {}", instead.join(", or ")));
            let (whole, id) = (whole.clone(), kit.id.clone());
            let spare = live(move || {
                let used = needs(&whole, &Ways::new(), &id);
                match (used, needs(&whole, &session.ways.get(), &id)) {
                    (true, false) => "not needed the way you chose",
                    (false, false) => "only for another way to do a move",
                    (_, true) => "",
                }
                .to_owned()
            });
            view! {
                <li>
                    <strong dir="auto">{kit.called().to_owned()}</strong>
                    <span class="small">{instead}</span>
                    <span class="small" data-testid="spare">{spare}</span>
                </li>
            }
            .into_any()
        })
        .collect_view();
    view! {
        <ul class="kit">{items} <li><strong>"water"</strong></li></ul>
    }
    .into_any()
}

/// One level for the whole class, where its moves have other ways at all.
fn whole_class(plan: &Plan) -> AnyView {
    let session = shell().session;
    let all = [
        ("All easier", "all-easier", all_at(plan, Level::Easier)),
        ("As written", "all-as-written", Ways::new()),
        ("All harder", "all-harder", all_at(plan, Level::Harder)),
    ];
    if plan.moves.iter().all(|known| known.options.is_empty()) {
        return nothing();
    }
    let buttons = all
        .into_iter()
        .filter(|(_, id, ways)| *id == "all-as-written" || !ways.is_empty())
        .map(|(words, id, ways)| {
            let same = ways.clone();
            let pressed = live(move || (session.ways.get() == same).to_string());
            let choose = touch(move || session.ways.set(ways.clone()));
            view! {
                <button class="choice" data-testid=id aria-pressed=pressed on:click=choose>
                    <strong>{words}</strong>
                </button>
            }
            .into_any()
        })
        .collect_view();
    view! {
        <div class="choices" role="group" aria-label="The whole class">{buttons}</div>
        <p class="small">"Each move can be changed below, and at any time in class. Nobody's time changes by it."</p>
    }
    .into_any()
}

/// The usual cautions. They stand here, so that start is one touch.
fn cautions() -> AnyView {
    view! {
        <ul class="cautions">
            <li>"You exercise at your own risk. Choose the easier way whenever you want to."</li>
            <li>"Stop at pain, dizziness, or discomfort in the chest. In an emergency call your local emergency number."</li>
            <li>"Ask a doctor first if you have a heart condition, are pregnant or injured, or are new to exercise."</li>
            <li>"What your own doctor or therapist tells you comes before what this class says."</li>
            <li>"Clear the floor around you; wear shoes that hold."</li>
        </ul>
    }
    .into_any()
}

/// The link, for someone else's phone. The plan is in it: no server has it.
fn link_on(opened: &Opened) -> AnyView {
    let told = RwSignal::new("The whole class is in the link. It opens on any phone.");
    let opened = opened.clone();
    let hand_on = move || pass_on(&opened, move |words| told.set(words));
    view! {
        <div class="row">
            {button("", "pass-on", "Share the link", hand_on)}
            {button("", "to-hand-out", "More ways, for coaches", move || {
                shell().from_desk.set(false);
                shell().screen.set(Screen::HandOut);
            })}
        </div>
        <p class="small" aria-live="polite">{live(move || told.get().to_owned())}</p>
    }
    .into_any()
}

fn outline(opened: &Opened, at: usize, block: &Block) -> AnyView {
    let length = text::length(opened.timeline.block_totals(at).all());
    let name = text::block(block);
    if let BlockKind::Interlude { say, .. } = &block.kind {
        let name = text::or(
            &block.name,
            text::phase(crate::timeline::SegmentKind::Interlude),
        );
        return view! {
            <li class="block interlude">
                <h3><span dir="auto">{name}</span> <span class="figure">{length}</span></h3>
                <p class="keep-lines" dir="auto">{say.clone()}</p>
            </li>
        }
        .into_any();
    }
    let plan = opened.plan();
    // Each move once, where the block first has it.
    let mut seen = Vec::new();
    for entry in block.entries() {
        if !seen.contains(&&entry.of) {
            seen.push(&entry.of);
        }
    }
    let moves = seen
        .into_iter()
        .filter_map(|id| plan.moves.iter().position(|known| known.id == *id))
        .map(|of| move_details(plan, of, &plan.moves[of]))
        .collect_view();
    view! {
        <li class="block">
            <h3><span dir="auto">{name}</span> <span class="figure">{length}</span></h3>
            <p class="small">{order(block)}</p>
            <ul class="plain">{moves}</ul>
        </li>
    }
    .into_any()
}

/// A block's order, in a coach's words.
fn order(block: &Block) -> String {
    match &block.kind {
        BlockKind::Flow { .. } => "One after the other".to_owned(),
        BlockKind::Rounds { rounds, moves } => format!(
            "{} of {}",
            text::count(*rounds as usize, "round", "rounds"),
            text::count(moves.len(), "exercise", "exercises")
        ),
        BlockKind::Ladder { rungs, direction } => {
            use crate::plan::Direction;
            let rungs = text::count(rungs.len(), "rung", "rungs");
            match direction {
                Direction::Up => format!("Ladder up {rungs}: each round adds one"),
                Direction::Down => format!("Ladder down {rungs}: each round drops one"),
                Direction::UpDown => format!("Ladder up {rungs} and down again"),
            }
        }
        BlockKind::Sets { sets, .. } => {
            format!("{} of each", text::count(*sets as usize, "set", "sets"))
        }
        BlockKind::Window { times, tasks } => format!(
            "{} of {} at your own pace",
            text::count(*times as usize, "time", "times"),
            text::count(tasks.len(), "task", "tasks")
        ),
        BlockKind::Interlude { .. } => String::new(),
    }
}

fn move_details(plan: &Plan, of: usize, known: &Move) -> AnyView {
    let mut facts = vec![text::position(known.position).to_owned()];
    if known.sided {
        facts.push("each side".to_owned());
    }
    facts.extend(
        known
            .kit
            .iter()
            .filter_map(|id| plan.kit_named(id))
            .map(|kit| isolated(kit.called())),
    );
    let how = (!known.how.is_empty()).then(|| fill(&known.how, None));
    let notes = known
        .notes
        .iter()
        .map(|note| view! { <li dir="auto">{fill(note, None)}</li> })
        .collect_view();
    let caution = (!known.caution.is_empty()).then(|| fill(&known.caution, None));
    let options = known
        .options
        .iter()
        .enumerate()
        .map(|(i, option)| option_line(of, i, option))
        .collect_view();
    view! {
        <li>
            <details class="move">
                <summary>
                    <strong dir="auto">{text::move_name(known)}</strong>
                    <span class="small">{facts.join(", ")}</span>
                </summary>
                {how.map(|how| view! { <p class="how keep-lines" dir="auto">{how}</p> })}
                <ul class="notes">{notes}</ul>
                {caution.map(|caution| view! { <p class="caution" dir="auto">{caution}</p> })}
                <ul class="options plain">{options}</ul>
            </details>
        </li>
    }
    .into_any()
}

/// A way to do a move: a touch chooses it, another one takes that back.
fn option_line(of: usize, at: usize, option: &Choice) -> AnyView {
    let session = shell().session;
    let level = match option.level {
        Level::Easier => "Easier: ",
        Level::Harder => "Harder: ",
        Level::Other => "Another way: ",
    };
    let notes: Vec<_> = option
        .notes
        .iter()
        .map(|note| isolated(&fill(note, None)))
        .collect();
    let pressed = live(move || (session.ways.get().get(&of) == Some(&at)).to_string());
    let choose = touch(move || {
        session.ways.update(|ways| {
            if ways.get(&of) == Some(&at) {
                ways.remove(&of);
            } else {
                ways.insert(of, at);
            }
        });
    });
    view! {
        <li>
            <button class="choice" data-testid="brief-option" aria-pressed=pressed on:click=choose>
                <span><b>{level}</b> <bdi>{text::option_name(option)}</bdi></span>
                <span class="small">{notes.join("; ")}</span>
            </button>
        </li>
    }
    .into_any()
}
