//! Text as large as its box holds, and never cut.

use web_sys::{Element, HtmlElement};

/// Font sizes of a box, in half CSS pixels.
#[derive(Clone, Copy, Debug)]
pub struct Sizes {
    /// The smallest that is given.
    pub least: i32,
    /// A word that is too long for the box at this size is broken rather than made much smaller.
    pub whole: i32,
    /// The largest.
    pub most: i32,
}

/// Gives an element the largest font size at which its content stays within it and no child is
/// wider than it stands, and returns that size. The element's own size must not depend on its font.
///
/// This reads the layout a few times: call it when the content or the window changes, not each
/// second.
pub fn fit(element: &HtmlElement, sizes: Sizes) -> i32 {
    let style = element.style();
    let fits = |halves: i32| {
        // Setting a length on an element's own style does not fail.
        let _ = style.set_property("font-size", &format!("calc({halves}px / 2)"));
        holds(element) && children(element).all(|child| holds_child(&child))
    };
    let Sizes { least, most, .. } = sizes;
    let most = most.max(least);
    let whole = sizes.whole.clamp(least, most);
    let _ = style.remove_property("overflow-wrap");
    if fits(most) {
        return most;
    }
    let found = if fits(whole) {
        largest(whole, most, fits)
    } else {
        let unbroken = fits(least).then(|| largest(least, whole, fits));
        let _ = style.set_property("overflow-wrap", "anywhere");
        let broken = if fits(whole) {
            whole
        } else {
            largest(least, whole, fits)
        };
        // A word in two pieces is worth it only where it can be read so much better.
        match unbroken {
            Some(unbroken) if broken * 5 < unbroken * 6 => {
                let _ = style.remove_property("overflow-wrap");
                unbroken
            }
            _ => broken,
        }
    };
    fits(found);
    found
}

/// The largest size from `low` that fits, below `high`, which does not.
fn largest(mut low: i32, mut high: i32, fits: impl Fn(i32) -> bool) -> i32 {
    while high - low > 1 {
        let middle = i32::midpoint(low, high);
        if fits(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

fn holds(element: &HtmlElement) -> bool {
    element.scroll_height() <= element.client_height() && holds_width(element)
}

/// Buttons stand in rows, where what is too high for one lies over the next.
fn holds_child(child: &Element) -> bool {
    holds_width(child)
        && (child.tag_name() != "BUTTON" || child.scroll_height() <= child.client_height())
}

fn holds_width(element: &Element) -> bool {
    element.scroll_width() <= element.client_width()
}

fn children(element: &HtmlElement) -> impl Iterator<Item = Element> {
    std::iter::successors(element.first_element_child(), |child| {
        child.next_element_sibling()
    })
}
