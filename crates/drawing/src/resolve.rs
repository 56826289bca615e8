//! The resolver (`usvg`), held so that it opens nothing and cannot run wild.

use crate::fonts::Asked;
use crate::{Error, Fonts};
use std::sync::Arc;
use usvg::fontdb;

/// Filters are not sewn, so the resolver never sees them.
const NO_FILTERS: &str = "* { filter: none !important }";

/// Resolves the drawing in `text`. The fonts it asks for are noted in `asked`.
pub(crate) fn resolve(text: &str, fonts: &Fonts, asked: &Asked) -> Result<usvg::Tree, Error> {
    let document = crate::parse(text)?;
    let options = usvg::Options {
        resources_dir: None,
        image_href_resolver: usvg::ImageHrefResolver {
            resolve_data: Box::new(|_, _, _| None),
            resolve_string: Box::new(|_, _| None),
        },
        font_resolver: usvg::FontResolver {
            select_font: Box::new(|font, database| asked.select(font, database)),
            select_fallback: Box::new(|c, used, database: &mut Arc<fontdb::Database>| {
                asked.fall_back(c, used, database)
            }),
        },
        fontdb: fonts.database.clone(),
        style_sheet: Some(NO_FILTERS.into()),
        ..usvg::Options::default()
    };
    usvg::Tree::from_xmltree(&document, &options).map_err(|error| match error {
        usvg::Error::ElementsLimitReached | usvg::Error::ParsingFailed(roxmltree::Error::NodesLimitReached) => {
            Error::Unreadable { what: "it unfolds to too many elements, or nests too deep".into() }
        }
        other => Error::Unreadable { what: crate::error::quote(&other.to_string()) },
    })
}
