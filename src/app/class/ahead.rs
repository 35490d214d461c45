//! The rungs to come, nearest lowest.

use std::sync::Arc;

use leptos::prelude::*;

use super::super::live::{live, nothing, part};
use super::super::{shell, text};
use super::fitted::Fitted;
use crate::cue::{Ways, way};
use crate::timeline::{Rung, RungKind, Timeline};

/// How many moves are shown ahead.
const MOVES: usize = 3;

/// What comes.
pub(super) fn ahead(
    timeline: &Arc<Timeline>,
    segment: Memo<Option<usize>>,
    fitted: Fitted,
) -> AnyView {
    let session = shell().session;
    let from = {
        let timeline = timeline.clone();
        move || {
            // Who warms up late is shown what they are about to join.
            let joined = session.joins.get().zip(session.starts_at());
            let joined = joined.and_then(|(at, start)| timeline.index_at(at - start));
            joined.unwrap_or_else(|| segment.get().map_or(0, |i| i + 1))
        }
    };
    let last = {
        let (timeline, from) = (timeline.clone(), from.clone());
        live(move || match timeline.rungs_from(from(), 1).is_empty() {
            true => "Then the end".to_owned(),
            false => "Then".to_owned(),
        })
    };
    let timeline = timeline.clone();
    let rungs = part(move || {
        let from = from();
        let ways = session.ways.get();
        let mut moves = 0;
        timeline
            .rungs_from(from, 2 * MOVES)
            .into_iter()
            .take_while(|rung| {
                moves += usize::from(matches!(rung.kind, RungKind::Move(_)));
                moves <= MOVES
            })
            .take(MOVES + 1)
            .enumerate()
            .map(|(i, rung)| show(&timeline, &ways, &rung, i))
            .collect_view()
            .into_any()
    });
    view! {
        <section class="ahead" aria-label="Then">
            <h2>{last}</h2>
            <ol node_ref=fitted.ahead>{rungs}</ol>
        </section>
    }
    .into_any()
}

fn show(timeline: &Timeline, ways: &Ways, rung: &Rung, at: usize) -> AnyView {
    let RungKind::Move(of) = rung.kind else {
        let block = timeline.block_of(&timeline.segments()[rung.first]);
        let name = block.map(|block| block.name.clone()).unwrap_or_default();
        let name = text::or(&name, "Interlude");
        return view! {
            <li class="rung aside" data-at=at.to_string()>
                <span class="name" dir="auto">{name}</span>
            </li>
        }
        .into_any();
    };
    let plan = timeline.plan();
    let Some(known) = plan.moves.get(of) else {
        return nothing();
    };
    let option = way(plan, of, ways);
    let kit = option.map_or(&known.kit, |option| &option.kit);
    let mut facts = Vec::new();
    facts.extend(
        kit.iter()
            .filter_map(|id| plan.kit_named(id))
            .map(|kit| kit.called().to_owned()),
    );
    facts.push(text::position(known.position).to_owned());
    let name = known.called_as(option);
    let count = (rung.count > 1).then(|| format!("{} ×", rung.count));
    let side = text::hands(&rung.hands);
    view! {
        <li class="rung" data-testid="next" data-at=at.to_string()>
            <span class="name" dir="auto">{name}</span>
            " "
            <span class="count">{count}</span>
            " "
            <span class="side">{side}</span>
            " "
            <span class="facts">{facts.join(", ")}</span>
        </li>
    }
    .into_any()
}
