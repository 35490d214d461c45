//! Text as large as its box holds, and never cut.

use wasm_bindgen::JsCast as _;
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
/// Where not even the smallest size holds all of it, less is shown: the element's `data-less` counts
/// up from 1 to `most_less`, and the styles say what falls away at each. At the last of them the
/// smallest size is given, whether it fits or not.
///
/// This reads the layout a few times: call it when the content or the window changes, not each
/// second.
pub fn fit(element: &HtmlElement, sizes: Sizes, most_less: u8) -> i32 {
    show_less(element, 0);
    for less in 0..=most_less {
        if less > 0 {
            show_less(element, less);
        }
        let (size, fits) = fit_all(element, sizes);
        if fits || less == most_less {
            return size;
        }
    }
    sizes.least
}

/// Says how much less than all is shown.
fn show_less(element: &HtmlElement, less: u8) {
    // An attribute of this name can be set on every element.
    let _ = if less == 0 {
        element.remove_attribute("data-less")
    } else {
        element.set_attribute("data-less", &less.to_string())
    };
}

/// Shows less of what can't be fitted by its font, until nothing in it is wider than it stands.
pub fn fit_by_less(element: &HtmlElement, parts: &str, most_less: u8) {
    for less in 0..=most_less {
        show_less(element, less);
        let Ok(all) = element.query_selector_all(parts) else {
            return;
        };
        let held = |i| {
            let part = all.item(i).and_then(|part| part.dyn_into::<Element>().ok());
            part.is_none_or(|part| holds_width(&part) && holds_height(&part))
        };
        if (0..all.length()).all(held) {
            return;
        }
    }
}

/// The largest size that holds all that is shown, or the smallest one; and whether it holds it.
fn fit_all(element: &HtmlElement, sizes: Sizes) -> (i32, bool) {
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
        return (most, true);
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
    (found, fits(found))
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
    holds_height(element) && holds_width(element)
}

/// Buttons stand in rows, where what is too high for one lies over the next.
fn holds_child(child: &Element) -> bool {
    holds_width(child) && (child.tag_name() != "BUTTON" || holds_height(child))
}

fn holds_height(element: &Element) -> bool {
    element.scroll_height() <= element.client_height()
}

fn holds_width(element: &Element) -> bool {
    element.scroll_width() <= element.client_width()
}

fn children(element: &HtmlElement) -> impl Iterator<Item = Element> {
    std::iter::successors(element.first_element_child(), |child| {
        child.next_element_sibling()
    })
}
