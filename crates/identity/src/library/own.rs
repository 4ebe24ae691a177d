//! A person's own substances, such as the list of a stock room.

use super::record::{Enthalpy, LiteratureValue, Substance};
use serde::Serialize;

/// One line of the list.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OwnSubstance {
    /// Its name; the CAS number where none is given.
    pub name: String,
    /// Its CAS number.
    pub cas: Option<String>,
    /// What it melts at, as the person has it [°C].
    pub melting_c: Option<f64>,
    /// Enthalpy of fusion [J/mol].
    pub hfus_j_per_mol: Option<f64>,
    /// Molar mass [g/mol].
    pub molar_mass_g_per_mol: Option<f64>,
    /// Molecular formula.
    pub formula: Option<String>,
    /// Line of the list, from 1.
    pub line: usize,
}

impl OwnSubstance {
    /// As a substance of which nothing else is known.
    pub(super) fn unknown_to_the_library(&self) -> Substance {
        Substance {
            name: self.name.clone(),
            cas: self.cas.clone().unwrap_or_default(),
            formula: String::new(),
            molar_mass_g_per_mol: None,
            smiles: String::new(),
            synonyms: Vec::new(),
            melting_c: Vec::new(),
            enthalpies: Vec::new(),
            donors: 0,
            acceptors: 0,
            classes: Vec::new(),
            remarks: Vec::new(),
            own: true,
        }
    }

    /// What the person says goes in the place of what the library says.
    pub(super) fn write_over(&self, substance: &mut Substance) {
        substance.own = true;
        if self.name != substance.name && self.cas.as_deref() != Some(&self.name) {
            let library_name = std::mem::replace(&mut substance.name, self.name.clone());
            substance.synonyms.insert(0, library_name);
        }
        if let Some(value_c) = self.melting_c {
            substance.melting_c = vec![LiteratureValue {
                value_c,
                source: "own list".into(),
                mark: None,
            }];
        }
        if let Some(value) = self.hfus_j_per_mol {
            let told = Enthalpy::given(value, "own list");
            substance.enthalpies.insert(0, told);
        }
        if let Some(formula) = &self.formula {
            substance.formula.clone_from(formula);
        }
        substance.molar_mass_g_per_mol =
            self.molar_mass_g_per_mol.or(substance.molar_mass_g_per_mol);
    }
}
