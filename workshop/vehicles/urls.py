from django.urls import path

from workshop.vehicles import views

app_name = "vehicles"
urlpatterns = [
    path("import/", views.file, name="file"),
]
