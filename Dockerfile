# One image for the web server and the workers; docker-compose.yml says which is which.
FROM python:3.12-slim AS build
WORKDIR /millrace
RUN pip install --no-cache-dir uv
ENV UV_LINK_MODE=copy UV_PYTHON_DOWNLOADS=never
# The packages first: they change less often than the sources.
COPY pyproject.toml uv.lock README.md LICENSE ./
RUN uv sync --locked --no-dev --no-install-project
COPY api api
COPY network network
COPY frontend frontend
RUN uv sync --locked --no-dev \
    && .venv/bin/millrace build --data /tmp/build \
    && rm -r frontend/node_modules /tmp/build

FROM python:3.12-slim
RUN useradd --system --home-dir /data --create-home millrace
COPY --from=build /millrace /millrace
ENV PATH=/millrace/.venv/bin:$PATH MILLRACE_DATA=/data PYTHONUNBUFFERED=1
WORKDIR /data
VOLUME /data
USER millrace
EXPOSE 8000
CMD ["millrace", "serve", "--host", "0.0.0.0"]
