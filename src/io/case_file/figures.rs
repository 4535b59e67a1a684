//! Templates of figures: the list `figures` of the case file.

use crate::case::document::figure_spec::{FigureGround, FigureKind, FigureSpec, FigureWidth};
use crate::io::case_file::fields::{Fault, JsonField, Members};

/// Takes the list out of the file.
pub(super) fn figures(file: &mut Members<'_>) -> Result<Vec<FigureSpec>, Fault> {
    let mut figures: Vec<FigureSpec> = Vec::new();
    for field in file.take("figures").map(|f| f.elements("figures")).transpose()?.unwrap_or_default() {
        let figure = figure(&field)?;
        if figures.iter().any(|one| one.name == figure.name) {
            let text = format!("the figure “{}” is listed twice; give one of them another name", figure.name);
            return Err(field.fault(text));
        }
        figures.push(figure);
    }
    Ok(figures)
}

fn figure(field: &JsonField<'_>) -> Result<FigureSpec, Fault> {
    let mut members = field.members()?;
    let mut figure = FigureSpec::default();
    let name = members.need("name", "give the figure a name")?;
    figure.name = name.text()?;
    if figure.name.trim().is_empty() {
        return Err(name.fault("must not be empty"));
    }
    if let Some(kind) = members.take("kind") {
        figure.kind = kind.one_of(FigureKind::ALL, FigureKind::key)?;
    }
    if let Some(width) = members.take("width") {
        figure.width = width.one_of(FigureWidth::ALL, FigureWidth::key)?;
    }
    if let Some(ground) = members.take("ground") {
        figure.ground = ground.one_of(FigureGround::ALL, FigureGround::key)?;
    }
    figure.title = members.take_text("title")?;
    figure.caption = members.take_text("caption")?;
    let switches = [
        ("marked", &mut figure.marked),
        ("whole", &mut figure.whole),
        ("letters", &mut figure.letters),
        ("scale_bar", &mut figure.scale_bar),
        ("legend", &mut figure.legend),
    ];
    for (key, switch) in switches {
        if let Some(said) = members.take(key) {
            *switch = said.truth()?;
        }
    }
    figure.extra = members.into_extra();
    Ok(figure)
}
