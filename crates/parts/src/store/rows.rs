//! Data between records and rows.

use std::path::Path;

use rusqlite::types::{Type, ValueRef};
use rusqlite::{Connection, Row, Statement, params};
use sha2::{Digest, Sha256};
use tidewall_devices::datasheet::Spread;

use crate::error::LibraryError;
use crate::keys;
use crate::record::{Condition, Datum, Provenance, Value};
use crate::wire;

/// A datum as it stands in the file.
#[derive(Clone, Debug)]
pub(super) struct Stored {
    pub(super) ordinal: i64,
    pub(super) datum: Datum,
    /// Whether the program itself, rather than its user, stated it last.
    pub(super) by_program: bool,
}

/// Selects the data of a part for [`all`]. The columns up to the last are what a seal covers, in this order: to change them is a
/// new version of the file.
pub(super) const SELECT: &str = "
SELECT d.ordinal, d.key, d.min, d.typ, d.max, d.number, d.flag, d.curve, d.wave, d.current_a, d.voltage_v,
  d.temperature_c, d.slope_v_per_s, d.width_s, d.pulses, d.frequency_hz, d.kind, s.title, s.revision, d.place,
  a.by = 'program'
FROM datum d JOIN document s ON s.id = d.document JOIN action a ON a.id = d.action
WHERE d.part = ?1 ORDER BY d.ordinal";

pub(super) const INSERT: &str = "
INSERT INTO datum (part, ordinal, key, min, typ, max, number, flag, curve, wave, current_a, voltage_v, temperature_c,
  slope_v_per_s, width_s, pulses, frequency_hz, kind, document, place, action)
VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18, ?19, ?20, ?21)";

/// Columns of [`SELECT`] that a seal covers.
const COVERED: usize = 20;

/// Row, name, family and seal of a part.
#[derive(Clone, Debug)]
pub(super) struct Head {
    pub(super) id: i64,
    pub(super) name: String,
    pub(super) family: String,
    /// `None` in files of earlier versions, and where somebody has taken it away.
    pub(super) seal: Option<Vec<u8>>,
}

/// The data of a part, in order.
///
/// # Errors
/// [`LibraryError::Damaged`] where they are not what was written.
pub(super) fn all(connection: &Connection, path: &Path, head: &Head) -> Result<Vec<Stored>, LibraryError> {
    let (stored, seal) = sealed(connection, path, head)?;
    match &head.seal {
        Some(own) if *own != seal => Err(LibraryError::Damaged {
            path: path.to_owned(),
            why: format!("part `{}` is not as it was written", head.name),
        }),
        _ => Ok(stored),
    }
}

/// The data of a part with the seal that they should have.
fn sealed(connection: &Connection, path: &Path, head: &Head) -> Result<(Vec<Stored>, Vec<u8>), LibraryError> {
    let of = |error: rusqlite::Error| match error {
        rusqlite::Error::FromSqlConversionFailure(_, _, why) => LibraryError::Damaged {
            path: path.to_owned(),
            why: why.to_string(),
        },
        error => LibraryError::of(path, &error),
    };
    let mut hash = Sha256::new();
    for text in [&head.name, &head.family] {
        cover(&mut hash, ValueRef::Text(text.as_bytes()));
    }
    let mut statement = connection.prepare_cached(SELECT).map_err(of)?;
    let mut rows = statement.query([head.id]).map_err(of)?;
    let mut stored = Vec::new();
    while let Some(row) = rows.next().map_err(of)? {
        for column in 0..COVERED {
            cover(&mut hash, row.get_ref(column).map_err(of)?);
        }
        stored.push(read(row).map_err(of)?);
    }
    Ok((stored, hash.finalize().to_vec()))
}

/// Each value with its type and length, so that no two rows of values give the same bytes.
fn cover(hash: &mut Sha256, value: ValueRef<'_>) {
    let mut put = |kind: u8, bytes: &[u8]| {
        hash.update([kind]);
        hash.update((bytes.len() as u64).to_le_bytes());
        hash.update(bytes);
    };
    match value {
        ValueRef::Null => put(0, &[]),
        ValueRef::Integer(number) => put(1, &number.to_le_bytes()),
        ValueRef::Real(number) => put(2, &number.to_bits().to_le_bytes()),
        ValueRef::Text(text) => put(3, text),
        ValueRef::Blob(bytes) => put(4, bytes),
    }
}

/// Seals a part as it stands now.
pub(super) fn seal(connection: &Connection, path: &Path, head: &Head) -> Result<(), LibraryError> {
    let (_, seal) = sealed(connection, path, head)?;
    connection
        .prepare_cached("UPDATE part SET seal = ?2 WHERE id = ?1")
        .and_then(|mut statement| statement.execute(params![head.id, seal]))
        .map(drop)
        .map_err(|error| LibraryError::of(path, &error))
}

/// Seals every part.
pub(super) fn seal_all(connection: &Connection, path: &Path) -> Result<(), LibraryError> {
    let of = |error: rusqlite::Error| LibraryError::of(path, &error);
    let mut statement = connection
        .prepare("SELECT id, name, family, NULL FROM part ORDER BY id")
        .map_err(of)?;
    let heads = statement.query_map([], head).map_err(of)?;
    for head in heads.collect::<rusqlite::Result<Vec<_>>>().map_err(of)? {
        seal(connection, path, &head)?;
    }
    Ok(())
}

/// From id, name, family and seal.
pub(super) fn head(row: &Row<'_>) -> rusqlite::Result<Head> {
    Ok(Head {
        id: row.get(0)?,
        name: row.get(1)?,
        family: row.get(2)?,
        seal: row.get(3)?,
    })
}

/// A text in the file that stands for nothing known.
#[derive(Debug, thiserror::Error)]
#[error("a datum holds the unknown {what} `{text}`")]
struct Unknown {
    what: &'static str,
    text: String,
}

fn known<T>(column: usize, what: &'static str, text: String, meaning: Option<T>) -> rusqlite::Result<T> {
    meaning.ok_or_else(|| {
        rusqlite::Error::FromSqlConversionFailure(column, Type::Text, Box::new(Unknown { what, text }))
    })
}

fn read(row: &Row<'_>) -> rusqlite::Result<Stored> {
    let key: String = row.get(1)?;
    let info = keys::find(&key);
    let key = known(1, "key", key, info)?.key;
    let number: Option<f64> = row.get(5)?;
    let flag: Option<bool> = row.get(6)?;
    let curve: Option<String> = row.get(7)?;
    let value = match (number, flag, curve) {
        (Some(number), _, _) => Value::Number(number),
        (_, Some(flag), _) => Value::Flag(flag),
        (_, _, Some(text)) => {
            let points = serde_json::from_str(&text).ok();
            Value::Curve(known(7, "curve", text, points)?)
        }
        _ => Value::Spread(Spread {
            min: row.get(2)?,
            typ: row.get(3)?,
            max: row.get(4)?,
        }),
    };
    let wave = match row.get::<_, Option<String>>(8)? {
        None => None,
        Some(text) => {
            let wave = wire::wave(&text);
            Some(known(8, "wave", text, wave)?)
        }
    };
    let kind: String = row.get(16)?;
    let firmness = wire::firmness(&kind);
    Ok(Stored {
        ordinal: row.get(0)?,
        datum: Datum {
            key,
            value,
            condition: Condition {
                wave,
                current_a: row.get(9)?,
                voltage_v: row.get(10)?,
                temperature_c: row.get(11)?,
                slope_v_per_s: row.get(12)?,
                width_s: row.get(13)?,
                pulses: row.get(14)?,
                frequency_hz: row.get(15)?,
            },
            firmness: known(16, "kind", kind, firmness)?,
            source: Provenance {
                document: row.get(17)?,
                revision: row.get(18)?,
                place: row.get(19)?,
            },
        },
        by_program: row.get(20)?,
    })
}

/// Writes one datum with a statement of [`INSERT`].
pub(super) fn insert(
    statement: &mut Statement<'_>,
    (part, ordinal): (i64, i64),
    datum: &Datum,
    (document, action): (i64, i64),
) -> rusqlite::Result<()> {
    let (mut spread, mut number, mut flag, mut curve) = (Spread::default(), None, None, None);
    match &datum.value {
        Value::Spread(value) => spread = *value,
        Value::Number(value) => number = Some(*value),
        Value::Flag(value) => flag = Some(*value),
        Value::Curve(points) => curve = Some(serde_json::json!(points).to_string()),
    }
    let condition = &datum.condition;
    statement.execute(params![
        part,
        ordinal,
        datum.key,
        spread.min,
        spread.typ,
        spread.max,
        number,
        flag,
        curve,
        condition.wave.map(wire::wave_text),
        condition.current_a,
        condition.voltage_v,
        condition.temperature_c,
        condition.slope_v_per_s,
        condition.width_s,
        condition.pulses,
        condition.frequency_hz,
        wire::firmness_word(datum.firmness),
        document,
        datum.source.place,
        action,
    ])?;
    Ok(())
}
