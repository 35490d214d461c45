//! Text as large as its box holds, and never cut.

use web_sys::HtmlElement;

/// Gives an element the largest font size, in half CSS pixels between two bounds, at which its content
/// stays within it, and returns that. The element's own size must not depend on its font.
///
/// This reads the layout a few times: call it when the content or the window changes, not each
/// second.
pub fn fit(element: &HtmlElement, least: i32, most: i32) -> i32 {
    let style = element.style();
    let fits = |halves: i32| {
        // Setting a length on an element's own style does not fail.
        let _ = style.set_property("font-size", &format!("calc({halves}px / 2)"));
        element.scroll_height() <= element.client_height()
            && element.scroll_width() <= element.client_width()
    };
    let (mut low, mut high) = (least, most.max(least));
    // Words are broken only where the smallest size is too large for one of them.
    let _ = style.remove_property("overflow-wrap");
    if fits(high) {
        return high;
    }
    if !fits(low) {
        let _ = style.set_property("overflow-wrap", "anywhere");
    }
    while high - low > 1 {
        let middle = (low + high) / 2;
        if fits(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    fits(low);
    low
}
