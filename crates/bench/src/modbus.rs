//! Modbus connections that devices of one bench share, and numbers in registers.
//!
//! Function codes, addresses from 0 and exceptions: Modbus Application Protocol V1.1b3; silence
//! between frames on a serial line: Modbus over Serial Line V1.02, 2.5.1.1.

mod words;

pub(crate) use words::{hexadecimal, quantity_from_words, word_count, words_from_quantity};

use crate::bench_file::{ModbusConnection, RegisterTable, WriteFunction};
use crate::error::DeviceError;
use crate::serial_port;
use std::borrow::Cow;
use std::sync::Arc;
use std::time::Duration;
use tokio::net::TcpStream;
use tokio::sync::Mutex;
use tokio::time::timeout;
use tokio_modbus::client::{Client as _, Context, rtu, tcp};
use tokio_modbus::slave::SlaveContext as _;
use tokio_modbus::{ExceptionCode, Request, Response, Slave};

/// How long an answer is waited for.
const ANSWER: Duration = Duration::from_millis(400);

/// How long a TCP connection is waited for.
const CONNECT: Duration = Duration::from_millis(800);

/// One connection; one asks at a time.
#[derive(Clone)]
pub(crate) struct ModbusBus {
    connection: ModbusConnection,
    context: Arc<Mutex<Option<Context>>>,
}

/// One device on a connection, with the name that messages call it by.
#[derive(Clone)]
pub(crate) struct ModbusDevice {
    bus: ModbusBus,
    unit: u8,
    name: String,
}

impl ModbusBus {
    pub fn new(connection: ModbusConnection) -> Self {
        Self {
            connection,
            context: Arc::new(Mutex::new(None)),
        }
    }

    /// A device on it; `role` is "thermometer" or "heater".
    pub fn device(&self, role: &str, unit: u8) -> ModbusDevice {
        ModbusDevice {
            bus: self.clone(),
            unit,
            name: format!("{role}, unit {unit} at {}", self.connection.address()),
        }
    }

    async fn connect(&self, name: &str) -> Result<Context, DeviceError> {
        match &self.connection {
            ModbusConnection::Rtu(serial) => Ok(rtu::attach(serial_port::open(serial, name)?)),
            ModbusConnection::Tcp(address) => {
                let not_there = |found: String| DeviceError::NotThere {
                    device: name.into(),
                    found,
                    hint: "see that it is switched on, in this network, and that address and port are right",
                };
                let stream = timeout(CONNECT, TcpStream::connect(address))
                    .await
                    .map_err(|_| {
                        not_there(format!("no answer within {} s", CONNECT.as_secs_f64()))
                    })?
                    .map_err(|error| not_there(error.to_string()))?;
                // Requests are small and waited for; a failure costs only speed.
                let _ = stream.set_nodelay(true);
                Ok(tcp::attach(stream))
            }
        }
    }

    /// Silence that has to stand before a frame: 3.5 characters of 11 bits, 1.75 ms above 19200 bits/s.
    fn gap(&self) -> Option<Duration> {
        match &self.connection {
            ModbusConnection::Tcp(_) => None,
            ModbusConnection::Rtu(serial) => {
                let characters_s = 3.5 * 11.0 / f64::from(serial.baud.max(1));
                Some(Duration::from_secs_f64(characters_s.max(1.75e-3)))
            }
        }
    }

    async fn call(
        &self,
        name: &str,
        unit: u8,
        request: &Request<'static>,
    ) -> Result<Result<Response, ExceptionCode>, DeviceError> {
        let mut slot = self.context.lock().await;
        // Taken out while in use: given up half-way, the rest of an answer must not be taken for the next.
        let mut kept = slot.take();
        loop {
            let was_kept = kept.is_some();
            let mut context = match kept.take() {
                Some(context) => context,
                None => self.connect(name).await?,
            };
            if let Some(gap) = self.gap() {
                tokio::time::sleep(gap).await;
            }
            context.set_slave(Slave(unit));
            match timeout(ANSWER, context.call(request.clone())).await {
                Ok(Ok(answer)) => {
                    *slot = Some(context);
                    return Ok(answer);
                }
                // A connection that the other side had closed meanwhile is worth one more attempt.
                Ok(Err(_)) if was_kept => {}
                Ok(Err(error)) => {
                    return Err(DeviceError::Gone {
                        device: name.into(),
                        found: error.to_string(),
                    });
                }
                Err(_) => {
                    return Err(DeviceError::Silent {
                        device: name.into(),
                        waited_s: ANSWER.as_secs_f64(),
                    });
                }
            }
        }
    }
}

impl ModbusDevice {
    pub fn name(&self) -> &str {
        &self.name
    }

    async fn call(&self, request: Request<'static>, what: &str) -> Result<Response, DeviceError> {
        match self.bus.call(&self.name, self.unit, &request).await? {
            Ok(response) => Ok(response),
            Err(code) => Err(self.otherwise(
                format!("exception {} ({code})", u8::from(code)),
                format!("{what}; compare the address with the manual's, which may count from 1"),
            )),
        }
    }

    fn otherwise(&self, found: String, expected: String) -> DeviceError {
        DeviceError::Answer {
            device: self.name.clone(),
            found,
            expected,
        }
    }

    /// Words of registers.
    ///
    /// # Errors
    /// [`DeviceError`] when it cannot be reached, or answers with an exception or something else.
    pub async fn read(
        &self,
        table: RegisterTable,
        register: u16,
        count: u16,
    ) -> Result<Vec<u16>, DeviceError> {
        let (request, what) = match table {
            RegisterTable::Input => (
                Request::ReadInputRegisters(register, count),
                format!("{count} words of input register {register}"),
            ),
            RegisterTable::Holding => (
                Request::ReadHoldingRegisters(register, count),
                format!("{count} words of holding register {register}"),
            ),
        };
        match self.call(request, &what).await? {
            Response::ReadInputRegisters(words) | Response::ReadHoldingRegisters(words)
                if words.len() == usize::from(count) =>
            {
                Ok(words)
            }
            other => Err(self.otherwise(format!("{other:?}"), what)),
        }
    }

    /// Write words to holding registers.
    ///
    /// # Errors
    /// As [`ModbusDevice::read`].
    pub async fn write(
        &self,
        register: u16,
        words: &[u16],
        how: WriteFunction,
    ) -> Result<(), DeviceError> {
        let what = format!("holding register {register} to be written");
        let request = match (how, words) {
            (WriteFunction::Single, &[word]) => Request::WriteSingleRegister(register, word),
            _ => Request::WriteMultipleRegisters(register, Cow::Owned(words.to_vec())),
        };
        self.call(request, &what).await.map(drop)
    }

    /// A coil.
    ///
    /// # Errors
    /// As [`ModbusDevice::read`].
    pub async fn read_coil(&self, coil: u16) -> Result<bool, DeviceError> {
        let what = format!("coil {coil}");
        match self.call(Request::ReadCoils(coil, 1), &what).await? {
            Response::ReadCoils(coils) if !coils.is_empty() => {
                Ok(coils.first().copied().unwrap_or_default())
            }
            other => Err(self.otherwise(format!("{other:?}"), what)),
        }
    }

    /// Write a coil.
    ///
    /// # Errors
    /// As [`ModbusDevice::read`].
    pub async fn write_coil(&self, coil: u16, on: bool) -> Result<(), DeviceError> {
        let what = format!("coil {coil} to be written");
        self.call(Request::WriteSingleCoil(coil, on), &what)
            .await
            .map(drop)
    }
}
