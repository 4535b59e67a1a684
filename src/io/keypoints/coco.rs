//! Keypoints as JSON in the layout of the COCO data set (images, categories, annotations with x, y and visibility), with
//! keys of our own beside: shot, level, standard deviations, origins.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::{Value, json};

use crate::case::document::proposed::Origin;
use crate::geom::point::Point;
use crate::io::keypoints::mapping::{LabelWords, Mapping};
use crate::io::keypoints::point::{FORMAT, Keypoint, KeypointShot, VERSION, point_name};
use crate::measure::mark::{Level, MarkRef, PatientRight, Side, Stage, View};

/// The JSON, ending in a line break.
#[must_use]
pub fn text(shots: &[KeypointShot]) -> String {
    let mut images: Vec<(&str, &str, u32)> = Vec::new();
    let mut image_values = Vec::new();
    let mut names: BTreeMap<View, BTreeSet<MarkRef>> = BTreeMap::new();
    for shot in shots {
        let image = (shot.case.as_str(), shot.image.as_str(), shot.frame);
        if !images.contains(&image) {
            images.push(image);
            let mut value = json!({
                "id": images.len(),
                "file_name": shot.image,
                "frame": shot.frame,
                "case": shot.case,
            });
            if let Some((width, height)) = shot.size {
                value["width"] = json!(width);
                value["height"] = json!(height);
            }
            image_values.push(value);
        }
        let Some(view) = shot.view else { continue };
        names.entry(view).or_default().extend(shot.points.iter().map(|point| point.at));
    }
    let categories: Vec<Value> = names.iter().map(|(view, points)| category(*view, points)).collect();
    let annotations: Vec<Value> = shots
        .iter()
        .enumerate()
        .filter_map(|(at, shot)| {
            let image = (shot.case.as_str(), shot.image.as_str(), shot.frame);
            let image = images.iter().position(|other| *other == image)? + 1;
            let points = names.get(&shot.view?)?;
            Some(annotation(at + 1, image, shot, points))
        })
        .collect();
    let value = json!({
        "format": FORMAT,
        "version": VERSION,
        "info": {
            "description": "Marks on fluoroscopy stills of vertebral bodies. Pixel coordinates from the corner of the image: the center of the first pixel is 0.5.",
            "version": VERSION.to_string(),
        },
        "images": image_values,
        "categories": categories,
        "annotations": annotations,
    });
    format!("{value:#}\n")
}

/// The number of a view's category.
fn number(view: View) -> usize {
    View::ALL.iter().position(|other| *other == view).map_or(1, |at| at + 1)
}

fn category(view: View, points: &BTreeSet<MarkRef>) -> Value {
    let all: Vec<MarkRef> = points.iter().copied().collect();
    // From point to point along each mark, counted from 1.
    let lines: Vec<[usize; 2]> = all
        .windows(2)
        .enumerate()
        .filter(|(_, pair)| pair[0].kind == pair[1].kind)
        .map(|(at, _)| [at + 1, at + 2])
        .collect();
    json!({
        "id": number(view),
        "name": view.key(),
        "supercategory": "vertebral body",
        "keypoints": all.iter().map(|at| point_name(*at)).collect::<Vec<_>>(),
        "skeleton": lines,
    })
}

fn annotation(id: usize, image: usize, shot: &KeypointShot, names: &BTreeSet<MarkRef>) -> Value {
    let of = |at: &MarkRef| shot.points.iter().find(|point| point.at == *at);
    let mut keypoints: Vec<Value> = Vec::new();
    for at in names {
        match of(at) {
            Some(point) => keypoints.extend([json!(point.to.x), json!(point.to.y), json!(2)]),
            None => keypoints.extend([json!(0), json!(0), json!(0)]),
        }
    }
    let least = |of: fn(Point) -> f64| shot.points.iter().map(|p| of(p.to)).fold(f64::INFINITY, f64::min);
    let most = |of: fn(Point) -> f64| shot.points.iter().map(|p| of(p.to)).fold(f64::NEG_INFINITY, f64::max);
    let (x, y) = (least(|p| p.x), least(|p| p.y));
    let (width, height) = (most(|p| p.x) - x, most(|p| p.y) - y);
    json!({
        "id": id,
        "image_id": image,
        "category_id": shot.view.map(number),
        "keypoints": keypoints,
        "num_keypoints": shot.points.len(),
        "bbox": [x, y, width, height],
        "area": width * height,
        "iscrowd": 0,
        "shot": shot.shot,
        "level": shot.level.map(Level::name),
        "side": shot.side.map(Side::key),
        "stage": shot.stage.map(Stage::key),
        "patient_right": shot.patient_right.map(PatientRight::key),
        "mm_per_px": shot.mm_per_px,
        "mm_per_px_sd": shot.mm_per_px_sd,
        "sd_mm": names.iter().map(|at| of(at).and_then(|point| point.sd_mm)).collect::<Vec<_>>(),
        "sd_px": names.iter().map(|at| of(at).and_then(|point| point.sd_px)).collect::<Vec<_>>(),
        "origin": names.iter().map(|at| of(at).map(|point| point.origin.key())).collect::<Vec<_>>(),
    })
}

/// What of a category is needed to read its annotations.
struct CategoryNames {
    name: String,
    points: Vec<String>,
}

/// The shots of such a JSON.
pub(super) fn parse(text: &str, mapping: &Mapping) -> Result<Vec<KeypointShot>, String> {
    let value: Value = serde_json::from_str(text)
        .map_err(|e| format!("line {}: it is not valid JSON; write the keypoints again", e.line()))?;
    let list = |name: &str| {
        let list = value.get(name).and_then(Value::as_array);
        list.ok_or_else(|| format!("{name}: the list is missing; write images, categories and annotations"))
    };
    let id = |value: &Value| value.get("id").and_then(Value::as_u64);
    let mut images = BTreeMap::new();
    for (at, image) in list("images")?.iter().enumerate() {
        let name = image.get("file_name").and_then(Value::as_str);
        let (Some(id), Some(name)) = (id(image), name) else {
            return Err(format!("images[{at}]: id or file_name is missing"));
        };
        let frame = image.get("frame").and_then(Value::as_u64).and_then(|n| u32::try_from(n).ok());
        let case = image.get("case").and_then(Value::as_str).unwrap_or_default();
        images.insert(id, (case.to_owned(), name.to_owned(), frame.unwrap_or(0)));
    }
    let mut categories = BTreeMap::new();
    for (at, category) in list("categories")?.iter().enumerate() {
        let names = category.get("keypoints").and_then(Value::as_array);
        let (Some(id), Some(names)) = (id(category), names) else {
            return Err(format!("categories[{at}]: id or keypoints are missing"));
        };
        let points = names.iter().map(|name| name.as_str().unwrap_or_default().to_owned()).collect();
        let name = category.get("name").and_then(Value::as_str).unwrap_or_default().to_owned();
        categories.insert(id, CategoryNames { name, points });
    }
    let mut shots = Vec::new();
    for (at, annotation) in list("annotations")?.iter().enumerate() {
        let of = |key: &str| annotation.get(key).and_then(Value::as_u64);
        let image = of("image_id").and_then(|id| images.get(&id));
        let category = of("category_id").and_then(|id| categories.get(&id));
        let (Some(image), Some(category)) = (image, category) else {
            return Err(format!("annotations[{at}]: its image_id or category_id names nothing"));
        };
        let shot = shot(annotation, image, category, mapping);
        shots.push(shot.map_err(|why| format!("annotations[{at}].{why}"))?);
    }
    Ok(shots)
}

fn shot(
    annotation: &Value,
    (case, image, frame): &(String, String, u32),
    category: &CategoryNames,
    mapping: &Mapping,
) -> Result<KeypointShot, String> {
    let word = |key: &str| annotation.get(key).and_then(Value::as_str);
    let number = |key: &str| annotation.get(key).and_then(Value::as_f64);
    let mut shot = KeypointShot {
        case: case.clone(),
        image: image.clone(),
        frame: *frame,
        shot: word("shot").unwrap_or_default().to_owned(),
        mm_per_px: number("mm_per_px"),
        mm_per_px_sd: number("mm_per_px_sd"),
        ..KeypointShot::default()
    };
    let named = LabelWords {
        level: word("level"),
        side: word("side"),
        view: None,
        stage: word("stage"),
        patient_right: word("patient_right"),
    };
    mapping.name(&named, &mut shot)?;
    // The category is the view where it is called so; else the mapping says.
    let view = LabelWords { view: Some(&category.name), ..LabelWords::default() };
    let _ = mapping.name(&view, &mut shot);
    let numbers: Option<Vec<f64>> = annotation
        .get("keypoints")
        .and_then(Value::as_array)
        .and_then(|all| all.iter().map(Value::as_f64).collect());
    let numbers = numbers.ok_or("keypoints: the list of numbers is missing")?;
    if numbers.len() != 3 * category.points.len() {
        return Err(format!(
            "keypoints: {} numbers where {} points need {}",
            numbers.len(),
            category.points.len(),
            3 * category.points.len()
        ));
    }
    for (at, (name, place)) in category.points.iter().zip(numbers.chunks_exact(3)).enumerate() {
        // 0 means not labeled.
        if place[2] < 0.5 {
            continue;
        }
        let Some(point) = mapping.point(name)? else { continue };
        let item = |key: &str| annotation.get(key).and_then(|list| list.get(at));
        let origin = item("origin").and_then(Value::as_str);
        shot.points.push(Keypoint {
            at: point,
            to: mapping.place(Point::new(place[0], place[1])),
            sd_mm: item("sd_mm").and_then(Value::as_f64),
            sd_px: item("sd_px").and_then(Value::as_f64),
            origin: Origin::ALL
                .into_iter()
                .find(|known| Some(known.key()) == origin)
                .unwrap_or(Origin::ByHand),
        });
    }
    Ok(shot)
}
