//! The outline of a body that is not human, proposed with its own usual form in place of the human one; for looking at a
//! real radiograph (`overlay.py` here).
//!
//! ```sh
//! cargo run --release --example shaped -- PICTURE.png POSTERIOR_X,Y ANTERIOR_X,Y [DEPTH,HEIGHT,POSTERIOR_WAIST,ANTERIOR_WAIST]
//! ```
//!
//! Prints each mark's key and places, or why nothing is proposed; without the last argument as for any patient.

#![expect(clippy::print_stdout, reason = "it prints what it finds")]

use std::path::Path;
use std::process::ExitCode;

use stillmark::geom::point::Point;
use stillmark::io::import::import_frame;
use stillmark::propose::Edge;
use stillmark::propose::lateral::{Clicks, UsualForm, propose, propose_shaped};

fn numbers<const N: usize>(text: &str) -> Option<[f64; N]> {
    let list: Vec<f64> = text.split(',').map(str::parse).collect::<Result<_, _>>().ok()?;
    list.try_into().ok()
}

fn point(text: &str) -> Option<Point> {
    numbers(text).map(|[x, y]| Point::new(x, y))
}

fn said(arguments: &[String]) -> Option<String> {
    let [picture, posterior, anterior, form @ ..] = arguments else { return None };
    let clicks = Clicks { posterior: point(posterior)?, anterior: point(anterior)? };
    let frame = match import_frame(Path::new(picture)) {
        Ok(frame) => frame,
        Err(error) => return Some(error.to_string()),
    };
    let found = match form {
        [] => propose(&frame, &[], clicks, None),
        [form, ..] => {
            let [depth, height, posterior_waist, anterior_waist] = numbers(form)?;
            propose_shaped(&frame, &[], clicks, UsualForm { depth, height, posterior_waist, anterior_waist })
        }
    };
    let proposal = match found {
        Ok(proposal) => proposal,
        Err(refusal) => return Some(format!("refused {}: {}", refusal.code.key(), refusal.text)),
    };
    let line = |edge: Edge| {
        let kind = edge.mark_kind();
        let places = proposal.marks.complete(kind).unwrap_or_default();
        let places: Vec<String> = places.iter().map(|p| format!("{:.1},{:.1}", p.x, p.y)).collect();
        format!("{} {}", kind.key(), places.join(" "))
    };
    Some(Edge::ALL.map(line).join("\n"))
}

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let Some(text) = said(&arguments) else {
        println!(
            "usage: shaped PICTURE.png POSTERIOR_X,Y ANTERIOR_X,Y [DEPTH,HEIGHT,POSTERIOR_WAIST,ANTERIOR_WAIST]"
        );
        return ExitCode::from(2);
    };
    println!("{text}");
    ExitCode::SUCCESS
}
