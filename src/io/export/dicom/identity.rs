//! Whose object it is: nobody's, or its source's patient and study as the source has them (PS3.3, C.7.1.1 and C.7.2.1),
//! and what every object says of itself and its series.

use dicom_core::VR;
use dicom_dictionary_std::tags;

use crate::io::dicom_codes::ConceptCode;
use crate::io::export::dicom::element::{Elements, code, empty, items, text, uid};
use crate::io::import::source_object::{CopiedElement, SourceObject};

/// Whose the objects of an export are.
#[derive(Clone, Debug)]
pub(super) enum Identity {
    /// Nobody's: a new study, and a code of the user's in the place of name and identifier.
    None {
        /// The code.
        code: String,
        /// The new study.
        study: String,
    },
    /// The source's: the same patient and study.
    BesideSource {
        /// Patient and study, byte by byte.
        copied: Vec<CopiedElement>,
    },
}

/// What all objects of one export share.
#[derive(Clone, Debug)]
pub(super) struct Context {
    /// Whose they are.
    pub(super) identity: Identity,
    /// Date and time of the export.
    pub(super) now: (String, String),
}

/// What an object is: its class, its series' modality, number and description.
#[derive(Clone, Copy, Debug)]
pub(super) struct ObjectKind {
    /// SOP Class UID.
    pub(super) class: &'static str,
    /// Modality.
    pub(super) modality: &'static str,
    /// Series number, so that archives list the kinds apart.
    pub(super) series: u16,
    /// Series description.
    pub(super) description: &'static str,
}

impl Context {
    /// The elements that are copied into every object.
    pub(super) fn copied(&self) -> &[CopiedElement] {
        match &self.identity {
            Identity::None { .. } => &[],
            Identity::BesideSource { copied } => copied,
        }
    }

    /// The study that every object of the export is of.
    pub(super) fn study(&self) -> String {
        match &self.identity {
            Identity::None { study, .. } => study.clone(),
            Identity::BesideSource { copied } => {
                let study = copied.iter().find(|element| element.tag == (0x0020, 0x000d));
                let text = study.map(|element| String::from_utf8_lossy(&element.value).into_owned());
                text.unwrap_or_default().trim_end_matches(['\0', ' ']).to_owned()
            }
        }
    }

    /// Puts patient and study.
    pub(super) fn patient_and_study(&self, elements: &mut Elements) {
        // Type 2: there, though without a value. What is copied is put in their places when the file is written.
        const TYPE_2: [(dicom_core::Tag, VR); 9] = [
            (tags::STUDY_DATE, VR::DA),
            (tags::STUDY_TIME, VR::TM),
            (tags::ACCESSION_NUMBER, VR::SH),
            (tags::REFERRING_PHYSICIAN_NAME, VR::PN),
            (tags::PATIENT_NAME, VR::PN),
            (tags::PATIENT_ID, VR::LO),
            (tags::PATIENT_BIRTH_DATE, VR::DA),
            (tags::PATIENT_SEX, VR::CS),
            (tags::STUDY_ID, VR::SH),
        ];
        for (tag, vr) in TYPE_2 {
            let copied = self.copied().iter().any(|element| element.tag == (tag.0, tag.1));
            if !copied {
                empty(elements, tag, vr);
            }
        }
        if let Identity::None { code, study } = &self.identity {
            text(elements, tags::PATIENT_NAME, VR::PN, code);
            text(elements, tags::PATIENT_ID, VR::LO, code);
            text(elements, tags::PATIENT_IDENTITY_REMOVED, VR::CS, "YES");
            text(elements, tags::DEIDENTIFICATION_METHOD, VR::LO, "Nothing of a patient was read");
            text(elements, tags::STUDY_INSTANCE_UID, VR::UI, study);
        }
    }

    /// Puts what the object says of itself and its series; `content` is what its identifier follows from. Returns the
    /// identifiers of the object and its series.
    pub(super) fn object(
        &self,
        elements: &mut Elements,
        kind: ObjectKind,
        content: &[&[u8]],
    ) -> PlacedObject {
        let (date, time) = &self.now;
        let study = self.study();
        let series = uid(&[
            b"series",
            study.as_bytes(),
            kind.description.as_bytes(),
            date.as_bytes(),
            time.as_bytes(),
        ]);
        let mut parts = vec![kind.class.as_bytes(), series.as_bytes()];
        parts.extend(content);
        let instance = uid(&parts);
        text(elements, tags::SOP_CLASS_UID, VR::UI, kind.class);
        text(elements, tags::SOP_INSTANCE_UID, VR::UI, &instance);
        text(elements, tags::INSTANCE_CREATION_DATE, VR::DA, date);
        text(elements, tags::INSTANCE_CREATION_TIME, VR::TM, time);
        text(elements, tags::MODALITY, VR::CS, kind.modality);
        text(elements, tags::SERIES_INSTANCE_UID, VR::UI, &series);
        if kind.modality != "SR" {
            // Unpaired, so that no laterality is needed. Reports do not have it.
            text(elements, tags::BODY_PART_EXAMINED, VR::CS, "LSPINE");
        }
        text(elements, tags::SERIES_NUMBER, VR::IS, &kind.series.to_string());
        text(elements, tags::SERIES_DESCRIPTION, VR::LO, kind.description);
        text(elements, tags::SERIES_DATE, VR::DA, date);
        text(elements, tags::SERIES_TIME, VR::TM, time);
        text(elements, tags::MANUFACTURER, VR::LO, "Stillmark");
        text(elements, tags::MANUFACTURER_MODEL_NAME, VR::LO, "Stillmark");
        text(elements, tags::DEVICE_SERIAL_NUMBER, VR::LO, "none");
        text(elements, tags::SOFTWARE_VERSIONS, VR::LO, env!("CARGO_PKG_VERSION"));
        PlacedObject { class: kind.class.to_owned(), instance, series }
    }
}

/// Where an object stands: what others need to refer to it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct PlacedObject {
    /// SOP Class UID.
    pub(super) class: String,
    /// SOP Instance UID.
    pub(super) instance: String,
    /// Series Instance UID.
    pub(super) series: String,
}

/// An image that others refer to: a source, or a still that was written.
#[derive(Clone, Debug)]
pub(super) struct Image {
    /// Where it stands.
    pub(super) placed: PlacedObject,
    /// Which frame, from 1, where it has several.
    pub(super) frame: Option<u32>,
    /// Columns.
    pub(super) columns: u16,
    /// Rows.
    pub(super) rows: u16,
    /// The source, where it is one.
    pub(super) source: Option<SourceObject>,
}

impl Image {
    /// A frame of a source, counted from 0.
    pub(super) fn of_source(source: SourceObject, frame: u32) -> Self {
        Self {
            placed: PlacedObject {
                class: source.class.clone(),
                instance: source.instance.clone(),
                series: source.series.clone(),
            },
            frame: (source.frames > 1).then_some(frame + 1),
            columns: source.columns,
            rows: source.rows,
            source: Some(source),
        }
    }

    /// The item that refers to it.
    pub(super) fn reference(&self) -> Elements {
        let mut item = Elements::new_empty();
        text(&mut item, tags::REFERENCED_SOP_CLASS_UID, VR::UI, &self.placed.class);
        text(&mut item, tags::REFERENCED_SOP_INSTANCE_UID, VR::UI, &self.placed.instance);
        if let Some(frame) = self.frame {
            text(&mut item, tags::REFERENCED_FRAME_NUMBER, VR::IS, &frame.to_string());
        }
        item
    }

    /// The same as the source of a picture.
    pub(super) fn as_source_of_picture(&self) -> Elements {
        let mut item = self.reference();
        let purpose = ConceptCode("121322", "DCM", "Source Image for Image Processing Operation");
        items(&mut item, tags::PURPOSE_OF_REFERENCE_CODE_SEQUENCE, vec![code(purpose)]);
        item
    }
}
