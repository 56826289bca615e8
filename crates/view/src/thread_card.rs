//! The card of swatches: every colour of a design beside the threads of a
//! chart for it, on each fabric. One HTML file without scripts.

use crate::markup::{escape, fill, hash, swatch};
use laidwork_plan::Color;
use laidwork_thread::{Choice, Offer, Selection, Spool};

const TEMPLATE: &str = include_str!("page/threads.html");
const STYLE: &str = include_str!("page/threads.css");

/// The card of a selection of threads, for the screen and to be printed.
pub fn thread_card(selection: &Selection, title: &str) -> String {
    let choices: String = selection.colors.iter().map(choice).collect();
    let spools: String = selection.threads.iter().map(spool).collect();
    let palette = selection.palette.as_ref().map(|palette| {
        let how = if palette.exact { "no other choice comes nearer" } else { "a good choice, perhaps not the best" };
        format!("<p>At most {} threads for the whole design; {how}.</p>", palette.at_most)
    });
    fill(TEMPLATE, |place| match place {
        "title" => Some(escape(title)),
        "style" => Some(STYLE.to_owned()),
        "style-hash" => Some(hash(STYLE)),
        "palette" => Some(palette.clone().unwrap_or_default()),
        "choices" => Some(choices.clone()),
        "spools" => Some(spools.clone()),
        _ => None,
    })
}

/// A patch of a colour as written in a selection.
fn patch(color: &str) -> String {
    color.parse().map(swatch).unwrap_or_default()
}

fn choice(choice: &Choice) -> String {
    let name = choice.name.as_deref().unwrap_or(&choice.color);
    let offers: String =
        choice.offers.iter().enumerate().map(|(number, one)| offer(choice, one, number == 0)).collect();
    let beside: String = choice
        .beside
        .iter()
        .map(|one| format!("<li>beside {}: {:.1} to 1, {}</li>", escape(&one.name), one.ratio, escape(&one.words)))
        .collect();
    format!(
        "<section>\n<h2>{}{}<small>{}{:.1} m, {}</small></h2>\n<div class=\"offers\">{offers}</div>\n<ul>{beside}</ul>\n</section>\n",
        patch(&choice.color),
        escape(name),
        choice.name.as_ref().map(|_| format!("{}, ", choice.color)).unwrap_or_default(),
        choice.metres,
        escape(&choice.pieces.join(", ")),
    )
}

fn offer(choice: &Choice, offer: &Offer, taken: bool) -> String {
    let on: String = offer
        .contrasts
        .iter()
        .map(|on| format!("<li>{}{:.1} to 1, {}</li>", laid(&offer.color, &on.fabric), on.ratio, escape(&on.words)))
        .collect();
    let left = offer.left.map(|left| format!(", {left:.0} m left")).unwrap_or_default();
    format!(
        "<article{}>{}<p><b>{}</b> {}{}</p><p class=\"words\">{}, \u{394}E {:.1}{left}</p><ul>{on}</ul></article>\n",
        if taken { " class=\"taken\"" } else { "" },
        halves(&choice.color, &offer.color),
        escape(&offer.code),
        escape(&offer.name),
        if taken { " <span>taken</span>" } else { "" },
        escape(&offer.words),
        offer.difference,
    )
}

/// The colour wanted and the thread offered, edge to edge.
fn halves(wanted: &str, offered: &str) -> String {
    let (Ok(wanted), Ok(offered)) = (wanted.parse::<Color>(), offered.parse::<Color>()) else { return String::new() };
    format!(
        "<svg class=\"halves\" viewBox=\"0 0 40 16\" preserveAspectRatio=\"none\" role=\"img\" aria-label=\"wanted {wanted}, thread {offered}\">\
         <rect width=\"20\" height=\"16\" fill=\"{wanted}\"/><rect x=\"20\" width=\"20\" height=\"16\" fill=\"{offered}\"/></svg>"
    )
}

/// Threads of a colour laid on a fabric.
fn laid(thread: &str, fabric: &str) -> String {
    let (Ok(thread), Ok(fabric)) = (thread.parse::<Color>(), fabric.parse::<Color>()) else { return String::new() };
    format!(
        "<svg class=\"laid\" viewBox=\"0 0 24 14\" role=\"img\" aria-label=\"on {fabric}\"><rect width=\"24\" height=\"14\" fill=\"{fabric}\"/>\
         <path d=\"M5 3.5h14M5 7h14M5 10.5h14\" stroke=\"{thread}\" stroke-width=\"2.6\" stroke-linecap=\"round\"/></svg>"
    )
}

fn spool(spool: &Spool) -> String {
    let left = spool.left_words();
    let instead: String = spool
        .substitutes
        .iter()
        .map(|other| format!("<br>instead {} {}: {}", escape(&other.code), escape(&other.name), escape(&other.words)))
        .collect();
    format!(
        "<tr><td>{}</td><td>{}</td><td>{}</td><td class=\"n\">{:.1} m</td><td>{left}{instead}</td></tr>\n",
        patch(&spool.color),
        escape(&spool.code),
        escape(&spool.name),
        spool.metres,
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_thread::{Chart, Need, Wishes, select};

    #[test]
    fn every_colour_has_its_offers_and_names_stay_text() {
        let text = "code,name,colour,tex,left\na<b,<script>,#b43d2d,27,1\ng,Pea,#4f8a3c,27,\nw,Snow,#f8f8f2,27,\n";
        let chart = Chart::read(text.as_bytes()).unwrap();
        let need = |color: &str| Need {
            color: color.parse().unwrap(),
            name: Some("</style>".into()),
            pieces: vec!["<img>".into()],
            metres: 2.0,
        };
        let fabrics = ["#22304f", "#efe6d0"].map(|color| color.parse().unwrap());
        let wishes = Wishes { fabrics: &fabrics, offers: 2, at_most: None };
        let found = select(&chart, &[need("#b33c2c"), need("#508b3d")], &[(0, 1)], &wishes).unwrap().value;
        let card = thread_card(&found, "<Patch>");
        assert_eq!(card.matches("<article").count(), 4);
        assert_eq!(card.matches("class=\"laid\"").count(), 8);
        assert_eq!(card.matches("class=\"taken\"").count(), 2);
        assert!(card.contains("only 1.0 m left"));
        for markup in ["<script", "<img", "<Patch>", "</style><"] {
            assert!(!card.contains(markup), "{markup}");
        }
    }
}
